import { type Crs, crsOfWkt, horizontalWkt } from '../cloud/crs.js';
import type { DeclaredCrs } from '../delivery/delivery.js';
import type { PointsSystem } from '../delivery/survey-points.js';
import { readTextFile } from '../delivery/text-file.js';
import { Fault } from '../fault.js';
import { type NoSystem, type PlaneSystem, planeSystem, planTransform, sameDatum } from './projection.js';

/** Coordinate system of the cloud: from the first readable file, otherwise as declared in the spec. */
export interface CloudSystem {
  crs: Crs | null;
  declared: DeclaredCrs;
}

/** A stated coordinate system of the points, split into its parts. */
interface Statement {
  /** "EPSG:25833", WKT or a PROJ string. */
  horizontal: string;
  epsg: number | null;
  vertical: { name: string; epsg: number | null; metres: number | null } | null;
}

/**
 * The value of --points-crs, or of another option: an EPSG code, WKT or PROJ string, or the content of the file it names.
 * @throws Fault `points-crs`
 */
export async function pointsCrsText(given: string, option = '--points-crs'): Promise<string> {
  if (isDefinition(given)) return given.trim();
  let text: string;
  try {
    text = await readTextFile(given, 'file of the coordinate system');
  } catch (error) {
    if (Fault.from(error, given).facts.code !== 'file-missing') throw error;
    throw new Fault(
      {
        code: 'points-crs',
        where: option,
        what: 'this is not an EPSG code, WKT or PROJ string, and there is no file of that name',
        found: given,
        advice: 'Give a code such as EPSG:25832, or a file that contains WKT or a PROJ string',
      },
      error,
    );
  }
  if (isDefinition(text)) return text.trim();
  throw new Fault({
    code: 'points-crs',
    where: given,
    what: 'the file does not contain an EPSG code, WKT or PROJ string',
    advice: 'Export the coordinate system as WKT',
  });
}

function isDefinition(text: string): boolean {
  return /^\s*(EPSG:\d+(\+\d+)?\s*$|\+proj=|[A-Za-z_]+\s*[[(])/i.test(text);
}

/**
 * The transformation from the coordinate system of the points to that of the cloud; null when both are the same. Only map
 * projections are computed, to a fraction of a millimetre. A change of datum or of height system is refused, because it
 * would add an error of its own.
 *
 * @param asked the value of --points-crs; used instead of `stated`, the system that the points file states, which it must
 * not contradict
 * @throws Fault `points-crs`
 */
export function pointsSystem(
  asked: string | null,
  stated: string | null,
  cloud: CloudSystem,
  where: string,
): PointsSystem | null {
  const text = asked ?? stated;
  if (text === null) return null;
  const points = taken(text, where);
  if (asked !== null && stated !== null) refuseContradiction(points, taken(stated, where), stated, where);
  refuseOtherHeights(points, cloud, where);
  const { crs, declared } = cloud;
  const codes = [crs?.horizontal?.epsg, crs?.compoundEpsg].filter((code) => code !== null && code !== undefined);
  if (points.epsg !== null && codes.includes(points.epsg)) return null;
  const text2 = crs?.horizontal
    ? (horizontalWkt(crs) ?? (crs.horizontal.epsg === null ? null : `EPSG:${crs.horizontal.epsg}`))
    : declared.horizontal;
  if (text2 !== null && text2.toUpperCase() === points.horizontal.toUpperCase()) return null;
  if (text2 === null) {
    // A statement in the points file alone is not a fault: without a system of the cloud, both are assumed to be the same.
    if (asked === null) return null;
    throw fault(where, 'the points state their coordinate system, but neither the cloud nor the spec states one', {
      advice: 'Remove --points-crs if both are in the same system, or declare the system of the cloud in the spec',
    });
  }
  const from = usable(
    planeSystem(points.horizontal),
    where,
    'the points',
    'Give --points-crs a file with its WKT or its PROJ string, or transform the points to the system of the cloud beforehand',
  );
  const to = usable(
    planeSystem(text2),
    where,
    'the cloud',
    'Transform the points to the system of the cloud beforehand',
  );
  if (!sameDatum(from, to)) {
    throw fault(where, 'points and cloud are on different datums, and datum transformations are not supported', {
      found: `${datumWords(from)}`,
      expected: `${datumWords(to)}`,
      advice: 'Transform the points to the system of the cloud with the official parameters for your area',
    });
  }
  const plan = planTransform(from, to);
  return {
    name: nameOf(points, from),
    metresPerUnit: from.metresPerUnit,
    metresPerUnitHeight: points.vertical?.metres ?? from.metresPerUnit,
    transform: plan,
  };
}

function taken(text: string, where: string): Statement {
  const code = /^EPSG:(\d+)(?:\+(\d+))?$/i.exec(text.trim());
  if (code) {
    const vertical = code[2] === undefined ? null : { name: `EPSG:${code[2]}`, epsg: Number(code[2]), metres: null };
    return { horizontal: `EPSG:${code[1]}`, epsg: Number(code[1]), vertical };
  }
  if (text.trim().startsWith('+')) return { horizontal: text.trim(), epsg: null, vertical: null };
  const crs = crsOfWkt(text);
  if (!crs.horizontal)
    throw fault(where, `the coordinate system of the points cannot be read: ${crs.problems[0] ?? 'it names none'}`);
  const { vertical } = crs;
  return {
    horizontal: horizontalWkt(crs) ?? text,
    epsg: crs.horizontal.epsg,
    vertical: vertical ? { name: vertical.name, epsg: vertical.epsg, metres: vertical.unit.metres } : null,
  };
}

function refuseContradiction(asked: Statement, stated: Statement, text: string, where: string): void {
  if (asked.epsg === null || stated.epsg === null || asked.epsg === stated.epsg) return;
  throw fault(where, 'the points file and --points-crs name different coordinate systems', {
    found: text,
    expected: `EPSG:${asked.epsg}`,
    advice: 'Give the correct system, or correct the file',
  });
}

/** Refuses points in another height system: heights are never converted. */
function refuseOtherHeights({ vertical }: Statement, { crs, declared }: CloudSystem, where: string): void {
  if (!vertical || (vertical.epsg === null && vertical.name === '')) return;
  const own = crs?.vertical && (crs.vertical.epsg !== null || crs.vertical.name !== '') ? crs.vertical : null;
  const declaredCode = Number(/^EPSG:(\d+)$/i.exec(declared.vertical ?? '')?.[1] ?? Number.NaN);
  const cloud = own ?? (Number.isInteger(declaredCode) ? { name: declared.vertical!, epsg: declaredCode } : null);
  if (!cloud) return;
  const same =
    vertical.epsg !== null && cloud.epsg !== null
      ? vertical.epsg === cloud.epsg
      : vertical.name.toLowerCase() === cloud.name.toLowerCase();
  if (same) return;
  const words = ({ name, epsg }: { name: string; epsg: number | null }) => (epsg === null ? name : `EPSG:${epsg}`);
  throw fault(where, 'points and cloud are in different height systems, and heights are not converted', {
    found: words(vertical),
    expected: words(cloud),
    advice: 'Convert the heights of the points to the system of the cloud with the official geoid model',
  });
}

function usable(system: PlaneSystem | NoSystem, where: string, whose: string, advice: string): PlaneSystem {
  if (!('problem' in system)) return system;
  throw fault(
    where,
    `coordinates cannot be transformed from the system of the points to that of the cloud: for ${whose}, ${system.problem}`,
    {
      advice,
    },
  );
}

function datumWords({ name, datum }: PlaneSystem): string {
  return datum === null ? `${name} on another ellipsoid` : `${name} on ${datum}`;
}

function nameOf({ epsg, horizontal }: Statement, system: PlaneSystem): string {
  return epsg !== null ? `EPSG:${epsg}` : horizontal.startsWith('+') ? horizontal : system.name;
}

function fault(where: string, what: string, more: { found?: string; expected?: string; advice?: string } = {}): Fault {
  return new Fault({ code: 'points-crs', where, what, ...more });
}

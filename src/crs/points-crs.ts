import { readFile } from 'node:fs/promises';
import { type Crs, crsOfWkt, horizontalWkt } from '../cloud/crs.js';
import type { DeclaredCrs } from '../delivery/delivery.js';
import type { PointsSystem } from '../delivery/survey-points.js';
import { Fault } from '../fault.js';
import { type NoSystem, type PlaneSystem, planeSystem, planTransform, sameDatum } from './projection.js';

/** What is known of the cloud's system: the first readable file's, else what the spec declares. */
export interface CloudSystem {
  crs: Crs | null;
  declared: DeclaredCrs;
}

/** A statement of the points' system, taken apart. */
interface Statement {
  /** "EPSG:25833", WKT or a PROJ string. */
  horizontal: string;
  epsg: number | null;
  vertical: { name: string; epsg: number | null; metres: number | null } | null;
}

/** The text of --points-crs: an EPSG code, WKT or PROJ string as it stands, or that of the file it names. @throws Fault */
export async function pointsCrsText(given: string): Promise<string> {
  if (isDefinition(given)) return given.trim();
  let text: string;
  try {
    text = await readFile(given, 'utf8');
  } catch (error) {
    throw new Fault(
      {
        code: 'points-crs',
        where: '--points-crs',
        what: 'this is no EPSG code, no WKT and no PROJ string, and there is no file of that name',
        found: given,
        advice: 'Give EPSG:25832, or a file that holds WKT or a PROJ string',
      },
      error,
    );
  }
  if (isDefinition(text)) return text.trim();
  throw new Fault({
    code: 'points-crs',
    where: given,
    what: 'the file holds no EPSG code, no WKT and no PROJ string',
    advice: 'Export the coordinate system as WKT',
  });
}

function isDefinition(text: string): boolean {
  return /^\s*(EPSG:\d+(\+\d+)?\s*$|\+proj=|[A-Za-z_]+\s*[[(])/i.test(text);
}

/**
 * How points come into the system of the cloud. Null when they are in it already. Only projections are computed, exact to a
 * fraction of a millimetre; a change of datum or of the height system is refused, since it would add an error of its own.
 *
 * @param asked the text of --points-crs; wins over `stated`, what the points file says itself, and must not contradict it
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
    // What a file says of itself is no order: without a system of the cloud it was always taken as the same.
    if (asked === null) return null;
    throw fault(where, 'the points state their coordinate system, but neither the cloud nor the spec states one', {
      advice: 'Leave --points-crs out if both are in the same system, or declare the system of the cloud in the spec',
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
    throw fault(where, 'points and cloud are on different datums, and a change of datum is never made', {
      found: `${datumWords(from)}`,
      expected: `${datumWords(to)}`,
      advice:
        'Transform the points with the official parameters for your area, and hand them in in the system of the cloud',
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
    advice: 'Give the one that is right, or correct the file',
  });
}

/** Heights are compared as they are: another height system is an error, never something to convert on the way. */
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
  throw fault(where, 'points and cloud are in different height systems, and heights are never converted', {
    found: words(vertical),
    expected: words(cloud),
    advice: 'Hand the points in with heights in the system of the cloud, converted with the official model',
  });
}

function usable(system: PlaneSystem | NoSystem, where: string, whose: string, advice: string): PlaneSystem {
  if (!('problem' in system)) return system;
  throw fault(
    where,
    `coordinates cannot be brought from the system of the points to that of the cloud: for ${whose}, ${system.problem}`,
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

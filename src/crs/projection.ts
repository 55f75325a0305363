import proj4 from 'proj4';
import { crsOfWkt, horizontalWkt } from '../cloud/crs.js';
import { child, nameOf, parseWkt, type WktNode } from '../cloud/wkt.js';
import { systemByName } from './epsg-families.js';

/** A projected system that can be computed. Horizontal coordinates are in metres, whatever the unit of the system. */
export interface PlaneSystem {
  name: string;
  /** Name of the datum, one spelling for all aliases; null where the definition names none (a PROJ string of an ellipsoid). */
  datum: string | null;
  /** Semi-axes of the ellipsoid, metres. */
  a: number;
  b: number;
  metresPerUnit: number;
  /** Longitude from Greenwich and latitude, radians, on the datum of the system; null outside the projection. */
  toGeographic(x: number, y: number): readonly [number, number] | null;
  fromGeographic(longitude: number, latitude: number): readonly [number, number] | null;
}

/** Why a definition cannot be used. */
export interface NoSystem {
  problem: string;
}

interface Projection {
  projName?: string;
  title?: string;
  a: number;
  b: number;
  axis?: string;
  to_meter?: number;
  from_greenwich?: number;
  datumCode?: string;
  init?: unknown;
  forward(p: { x: number; y: number }): { x: number; y: number } | undefined;
  inverse(p: { x: number; y: number }): { x: number; y: number } | undefined;
}

/**
 * The projected system of a definition: "EPSG:25832" (families that follow from their code), WKT 1 or 2 (of a compound
 * system the horizontal part), or a PROJ string.
 */
export function planeSystem(definition: string): PlaneSystem | NoSystem {
  const text = definition.trim();
  if (/^EPSG:\d+$/i.test(text)) {
    const known = systemByName(text);
    if (!known) return { problem: `${text} is not among the EPSG codes whose definition is built in` };
    return computed(known.definition, text.toUpperCase(), known.datum, 1);
  }
  if (text.startsWith('+')) {
    const datum = /\+datum=(\S+)/.exec(text)?.[1];
    return computed(text, 'PROJ string', datum === undefined ? null : canonicalDatum(datum), null);
  }
  const crs = crsOfWkt(text);
  const wkt = horizontalWkt(crs);
  if (!crs.horizontal || wkt === null) return { problem: crs.problems[0] ?? 'the text names no horizontal system' };
  if (crs.horizontal.geographic) return { problem: `${crs.horizontal.name} is in longitude and latitude` };
  const datum = datumOf(parseWkt(wkt));
  if (datum === null) return { problem: `${crs.horizontal.name} is a local system without a datum` };
  return computed(wkt, crs.horizontal.name, datum, crs.horizontal.unit.metres);
}

function computed(
  definition: string,
  name: string,
  datum: string | null,
  metresPerUnit: number | null,
): PlaneSystem | NoSystem {
  let p: Projection;
  try {
    p = new proj4.Proj(definition) as unknown as Projection;
  } catch {
    // The library throws strings as well as Errors.
    return { problem: `the projection of ${name} is not known` };
  }
  if (p.projName === undefined || typeof p.forward !== 'function')
    return { problem: `the projection of ${name} is not known` };
  if (p.projName === 'longlat') return { problem: `${name} is in longitude and latitude` };
  // Columns are named easting and northing, so the order of the axes does not matter; axes to the west or south change the sign.
  if (p.axis !== undefined && !/^(en|ne)u?$/.test(p.axis))
    return { problem: `the axes of ${name} do not point east and north` };
  const greenwich = p.from_greenwich ?? 0;
  const checked = (q: { x: number; y: number } | undefined) =>
    q && Number.isFinite(q.x) && Number.isFinite(q.y) ? q : null;
  return {
    name,
    datum,
    a: p.a,
    b: p.b,
    metresPerUnit: metresPerUnit ?? p.to_meter ?? 1,
    toGeographic(x, y) {
      const q = checked(p.inverse({ x, y }));
      return q && Math.abs(q.y) <= Math.PI / 2 ? [q.x + greenwich, q.y] : null;
    },
    fromGeographic(longitude, latitude) {
      const q = checked(p.forward({ x: longitude - greenwich, y: latitude }));
      return q ? [q.x, q.y] : null;
    },
  };
}

const DATUM_NODES = ['DATUM', 'GEODETICDATUM', 'TRF', 'ENSEMBLE'];

function datumOf(node: WktNode): string | null {
  const own = child(node, ...DATUM_NODES);
  if (own) return canonicalDatum(nameOf(own));
  for (const inner of node.children) {
    const found = datumOf(inner);
    if (found !== null) return found;
  }
  return null;
}

/** Spellings of the same datum in WKT of different writers; all others are compared by their letters and digits. */
const ALIASES: Record<string, readonly string[]> = {
  ETRS89: ['etrs89', 'etrs1989', 'europeanterrestrialreferencesystem1989'],
  'WGS 84': ['wgs84', 'wgs1984', 'worldgeodeticsystem1984'],
  NAD83: ['nad83', 'northamerican1983', 'northamericandatum1983'],
  NAD27: ['nad27', 'northamerican1927', 'northamericandatum1927'],
  GDA94: ['gda94', 'gda1994', 'geocentricdatumofaustralia1994'],
  GDA2020: ['gda2020', 'geocentricdatumofaustralia2020'],
  OSGB36: ['osgb36', 'osgb1936', 'ordnancesurveyofgreatbritain1936'],
};

function canonicalDatum(name: string): string {
  const plain = name
    .replace(/^D_/i, '')
    .toLowerCase()
    .replace(/\bensemble\b/, '')
    .replace(/[^a-z0-9]/g, '');
  return Object.keys(ALIASES).find((key) => ALIASES[key].includes(plain)) ?? plain;
}

/** Ellipsoids are equal within a millimetre: GRS 1980 and WGS 84 differ by 0.1 mm in the semi-minor axis. */
const SAME_AXIS = 0.001;

/** Whether two systems are on the same datum, so that projections alone transform between them. */
export function sameDatum(from: PlaneSystem, to: PlaneSystem): boolean {
  // Written so that a NaN axis is not equal to any.
  if (!(Math.abs(from.a - to.a) <= SAME_AXIS && Math.abs(from.b - to.b) <= SAME_AXIS)) return false;
  return from.datum === null || to.datum === null || from.datum === to.datum;
}

/** Transforms horizontal coordinates (metres) between two systems on the same datum; null outside a projection. */
export function planTransform(from: PlaneSystem, to: PlaneSystem) {
  return (x: number, y: number): readonly [number, number] | null => {
    const place = from.toGeographic(x, y);
    return place && to.fromGeographic(place[0], place[1]);
  };
}

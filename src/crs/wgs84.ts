import proj4 from 'proj4';
import { systemByName } from './epsg-families.js';

/** What a report states of the coordinate system of the cloud. */
interface Crs {
  /** Name or EPSG code of the horizontal system. */
  horizontal: string | null;
  /** Metres in one unit of its coordinates. */
  metresPerUnit: number | null;
  /** The horizontal system as well-known text. */
  wkt: string | null;
}
/** From plan coordinates in metres, as reports have them, to longitude and latitude in degrees. */
type ToWgs84 = (x: number, y: number) => [number, number];

/** Half axes of the ellipsoids GRS 1980 and WGS 84, metres; they differ by 0.1 mm in the smaller one. */
const GEOCENTRIC = { a: 6_378_137, b: 6_356_752.3142 };
/** No shift is known from the datum to WGS 84 (proj4's name for it is 5). */
const NO_DATUM = 5;

/**
 * From the plan coordinates of a report to WGS 84, by the WKT of the cloud, else by its EPSG code where the
 * system follows from it. Null where the way is not known: then GeoJSON keeps the cloud's own coordinates and says so.
 *
 * Systems on a datum of our time (ellipsoid GRS 1980 or WGS 84) are taken to coincide with WGS 84, which holds to a metre or
 * two and is enough to find a place. On an older datum the WKT must name the shift (TOWGS84) or the library know it: without
 * it places would be wrong by a hundred metres.
 */
export function transformToWgs84({ horizontal, metresPerUnit, wkt }: Crs): ToWgs84 | null {
  const definition = wkt !== null && isTrusted(wkt) ? wkt : (systemByName(horizontal)?.definition ?? null);
  if (definition === null) return null;
  const unit = definition === wkt ? (metresPerUnit ?? 1) : 1;
  const transform = proj4(definition, 'WGS84');
  return (x, y) => {
    const [longitude, latitude] = transform.forward([x / unit, y / unit]);
    return [longitude, latitude];
  };
}

interface Projection {
  projName?: string;
  a: number;
  b: number;
  datum?: { datum_type: number };
}

function isTrusted(wkt: string): boolean {
  try {
    const system = new proj4.Proj(wkt) as unknown as Projection;
    if (system.projName === 'longlat' || !system.datum) return false;
    if (system.datum.datum_type !== NO_DATUM) return true;
    return Math.abs(system.a - GEOCENTRIC.a) < 0.5 && Math.abs(system.b - GEOCENTRIC.b) < 0.5;
  } catch {
    // text the library cannot read: the code may still tell
    return false;
  }
}

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
/** From horizontal coordinates in metres, as in reports, to longitude and latitude in degrees. */
type ToWgs84 = (x: number, y: number) => [number, number];

/** Semi-axes of the ellipsoids GRS 1980 and WGS 84, metres; the semi-minor axes differ by 0.1 mm. */
const GEOCENTRIC = { a: 6_378_137, b: 6_356_752.3142 };
/** proj4's code for a datum without a known shift to WGS 84. */
const NO_DATUM = 5;

/**
 * The transformation from the horizontal coordinates of a report to WGS 84, by the WKT of the cloud, or by its EPSG code
 * where the definition follows from it. Null where it is not known: GeoJSON then keeps the cloud's coordinates and says so.
 *
 * Datums with the ellipsoid GRS 1980 or WGS 84 are assumed to coincide with WGS 84. This is right within one or two metres,
 * which is enough to find a location. For an older datum, the WKT (TOWGS84) or the library must give the shift; without it
 * locations would be wrong by about a hundred metres.
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
    // The library cannot read the WKT; the EPSG code may still give the definition.
    return false;
  }
}

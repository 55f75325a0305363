import { crsOfWkt, horizontalWkt } from '../cloud/crs.js';
import { codeOrName } from '../delivery/agreed-system.js';
import type { CloudSystem } from './points-crs.js';
import { type NoSystem, type PlaneSystem, planeSystem, planTransform, sameDatum } from './projection.js';

/** How positions of a trajectory become horizontal coordinates of the cloud. */
export interface PositionSystem {
  /** EPSG code or name, for the report. */
  name: string;
  /** Metres in a unit of projected coordinates. */
  metresPerUnit: number;
  /**
   * From projected coordinates in metres, or from longitude and latitude in degrees, to the cloud's system, metres; null for a
   * place outside a projection. Null where the coordinates are in the system of the cloud already.
   */
  transform: ((x: number, y: number) => readonly [number, number] | null) | null;
}

/** EPSG codes of longitude and latitude on WGS 84, ETRS89, NAD83, NAD83(2011), GDA94 and GDA2020, with and without height. */
const GEOGRAPHIC = [4326, 4979, 4258, 4937, 4269, 6318, 6319, 4283, 4939, 7844, 7843];
/** Semi-axes of GRS 1980, metres; those of WGS 84 are equal within 0.1 mm. */
const GRS80 = { a: 6_378_137, b: 6_356_752.3141 };
const SAME_AXIS = 0.001;

/** The projected system of the cloud; null where neither the cloud nor the spec states one. */
function cloudPlane({ crs, declared }: CloudSystem): { text: string; plane: PlaneSystem | NoSystem } | null {
  const text = crs?.horizontal ? (horizontalWkt(crs) ?? codeOrName(crs.horizontal)) : declared.horizontal;
  return text === null ? null : { text, plane: planeSystem(text) };
}

/** Whether a definition is a system of longitude and latitude. */
export function isGeographicSystem(definition: string): boolean {
  const code = epsgOf(definition);
  if (code !== null) return GEOGRAPHIC.includes(code);
  if (definition.startsWith('+')) return /\+proj=longlat\b/.test(definition);
  return crsOfWkt(definition).horizontal?.geographic === true;
}

/**
 * The transformation of longitude and latitude, in degrees, to the system of the cloud. Datums on the ellipsoids GRS 1980 and WGS 84
 * are taken for one: they differ by up to about a metre or two.
 */
export function systemOfDegrees(cloud: CloudSystem): PositionSystem | NoSystem {
  const known = cloudPlane(cloud);
  if (known === null)
    return { problem: 'neither the cloud nor the spec states a coordinate system, so degrees cannot be converted' };
  const { plane } = known;
  if ('problem' in plane)
    return { problem: `degrees cannot be converted to the system of the cloud: ${plane.problem}` };
  if (!(Math.abs(plane.a - GRS80.a) <= SAME_AXIS && Math.abs(plane.b - GRS80.b) <= SAME_AXIS))
    return { problem: `the cloud is on another ellipsoid (${plane.name}), and a change of datum is not computed` };
  const radians = Math.PI / 180;
  return {
    name: `longitude and latitude, taken to be on the datum of the cloud${plane.datum === null ? '' : ` (${plane.datum})`}`,
    metresPerUnit: 1,
    transform: (longitude, latitude) => plane.fromGeographic(longitude * radians, latitude * radians),
  };
}

/**
 * The transformation of projected coordinates to the system of the cloud. Without a definition they are in that system already.
 * @param metresPerUnit metres in the unit of the cloud
 */
export function systemOfMetres(
  definition: string | null,
  cloud: CloudSystem,
  metresPerUnit: number,
): PositionSystem | NoSystem {
  const own = codeOrName(cloud.crs?.horizontal) ?? cloud.declared.horizontal;
  const same: PositionSystem = { name: own ?? 'the system of the cloud', metresPerUnit, transform: null };
  if (definition === null) return same;
  const horizontal = definition.replace(/^(EPSG:\d+)\+\d+$/i, '$1');
  const code = epsgOf(horizontal);
  if (code !== null && (code === cloud.crs?.horizontal?.epsg || code === cloud.crs?.compoundEpsg)) return same;
  if (own !== null && own.toUpperCase() === horizontal.toUpperCase()) return same;
  const from = planeSystem(horizontal);
  if ('problem' in from) return { problem: `the stated system cannot be used: ${from.problem}` };
  const known = cloudPlane(cloud);
  if (known === null) return { problem: 'neither the cloud nor the spec states a coordinate system to convert to' };
  if ('problem' in known.plane)
    return { problem: `coordinates cannot be converted to the system of the cloud: ${known.plane.problem}` };
  if (!sameDatum(from, known.plane))
    return {
      problem: `${from.name} and the cloud (${known.plane.name}) are on different datums, which are not converted`,
    };
  return {
    name: code === null ? from.name : `EPSG:${code}`,
    metresPerUnit: from.metresPerUnit,
    transform: planTransform(from, known.plane),
  };
}

/** EPSG codes of the neighbouring UTM zones of the cloud's, where it is a UTM system with a known code. */
export function neighbourZones({ crs, declared }: CloudSystem): string[] {
  const code = crs?.horizontal ? crs.horizontal.epsg : epsgOf(declared.horizontal ?? '');
  if (!code || ![258, 269, 326, 327].includes(Math.floor(code / 100))) return [];
  return [code - 1, code + 1].filter((one) => one % 100 >= 1 && one % 100 <= 60).map((one) => `EPSG:${one}`);
}

function epsgOf(text: string): number | null {
  const code = /^EPSG:(\d+)$/i.exec(text.trim())?.[1];
  return code === undefined ? null : Number(code);
}

import { Fault } from '../fault.js';
import { columnOf, type Field } from './columns.js';
import { DateTimeReader } from './date-time.js';
import { gpsOfUnix } from './gps-time.js';
import type { RawDrive, RawFile } from './raw-drive.js';
import { RowDrive } from './row-drive.js';

interface Moving {
  coordinates: unknown;
  datetimes: unknown;
  /** Values by name, one for each time. */
  values: Record<string, unknown>;
}

/**
 * Reads OGC Moving Features JSON (19-045r3): features with a LineString and `datetimes` (simple form), or with a
 * `temporalGeometry` of a MovingPoint (prism form). Positions are longitude, latitude and height on WGS 84; every feature is a drive.
 * @throws Fault `json-syntax`, `trajectory-value`, `trajectory-empty`
 */
export function readMovingFeatures(text: string, where: string): RawFile {
  let root: unknown;
  try {
    root = JSON.parse(text);
  } catch (error) {
    throw new Fault({ code: 'json-syntax', where, what: 'the text is not JSON; it may have been cut short' }, error);
  }
  const features = featuresIn(root);
  const drives: RawDrive[] = [];
  for (const feature of features) {
    const moving = movingOf(feature);
    if (moving === null) continue;
    const name = features.length === 1 ? where : `${where} (feature ${drives.length + 1})`;
    drives.push(driveOf(moving, name));
  }
  if (drives.length === 0) {
    const what = 'no feature has positions with times (datetimes beside a LineString, or a temporalGeometry)';
    throw new Fault({ code: 'trajectory-empty', where, what });
  }
  return { drives, crs: null, time: { system: 'utc', week: null }, anglesStated: true, factors: {}, notes: [] };
}

type Json = Record<string, unknown>;

function featuresIn(root: unknown): Json[] {
  const node = (root ?? {}) as Json;
  return Array.isArray(node.features) ? (node.features as Json[]) : [node];
}

function movingOf(feature: Json): Moving | null {
  const prism = feature.temporalGeometry as Json | undefined;
  if (prism?.type === 'MovingPoint') {
    const values: Record<string, unknown> = {};
    for (const group of Array.isArray(feature.temporalProperties) ? (feature.temporalProperties as Json[]) : []) {
      for (const [name, one] of Object.entries(group)) {
        const listed = (one as Json | null)?.values;
        if (name !== 'datetimes' && JSON.stringify(group.datetimes) === JSON.stringify(prism.datetimes))
          values[name] = listed;
      }
    }
    return { coordinates: prism.coordinates, datetimes: prism.datetimes, values };
  }
  const geometry = feature.geometry as Json | undefined;
  const properties = (feature.properties ?? {}) as Json;
  if (geometry?.type !== 'LineString' || !Array.isArray(properties.datetimes)) return null;
  return { coordinates: geometry.coordinates, datetimes: properties.datetimes, values: {} };
}

function driveOf({ coordinates, datetimes, values }: Moving, where: string): RawDrive {
  const fail = (what: string) => new Fault({ code: 'trajectory-value', where, what });
  if (!Array.isArray(coordinates) || !Array.isArray(datetimes)) throw fail('positions or times are not lists');
  if (coordinates.length !== datetimes.length)
    throw fail(`there are ${coordinates.length} positions and ${datetimes.length} times`);
  const dates = new DateTimeReader();
  const more = Object.entries(values).flatMap(([name, list]) => {
    const { field, factor } = columnOf(name);
    const isNumbers = Array.isArray(list) && list.length === datetimes.length;
    return field !== null && isNumbers ? [[field, list, typeof factor === 'number' ? factor : 1] as const] : [];
  });
  const drive = new RowDrive(where);
  datetimes.forEach((given, i) => {
    // A number counts milliseconds of Unix time.
    const time = typeof given === 'number' ? gpsOfUnix(given / 1000) : (dates.gpsOf(String(given)) ?? Number.NaN);
    const [longitude, latitude, height] = coordinates[i] as number[];
    if (!Number.isFinite(time + longitude + latitude)) throw fail(`position ${i + 1} is not a place with a time`);
    const row: Partial<Record<Field, number>> = { time, longitude, latitude, height: height ?? Number.NaN };
    for (const [field, list, factor] of more) row[field] = Number(list[i]) * factor;
    drive.add(row, () => `position ${i + 1}`);
  });
  return drive.finish();
}

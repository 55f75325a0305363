import type { CloudSystem } from '../crs/points-crs.js';
import { neighbourZones, systemOfMetres } from '../crs/trajectory-system.js';
import { looksLikeDegrees } from '../delivery/degrees.js';
import type { DeliveredFile } from '../delivery/delivery.js';

/** Farther from every file a trajectory does not belong to the cloud, metres: no vehicle scanner measures so far (common practice). */
export const FAR = 1000;
/** Epochs that are looked at for the distance and for what may be wrong. */
const LOOKED_AT = 2000;

type Box = readonly [minX: number, minY: number, maxX: number, maxY: number];

/** Horizontal extents of the files, world metres, as their headers state them. */
export function boxesOf(files: readonly DeliveredFile[]): Box[] {
  return files.flatMap(({ header, horizontalUnit: unit }) =>
    header !== null && header.pointCount > 0
      ? [[header.min[0] * unit, header.min[1] * unit, header.max[0] * unit, header.max[1] * unit] as const]
      : [],
  );
}

/** Distance from the nearest place of a trajectory to the nearest file, metres; 0 within one. */
export function distanceTo(boxes: readonly Box[], x: ArrayLike<number>, y: ArrayLike<number>): number {
  let best = Number.POSITIVE_INFINITY;
  const step = Math.max(1, Math.floor(x.length / LOOKED_AT));
  for (let i = 0; i < x.length; i += step) {
    for (const [minX, minY, maxX, maxY] of boxes) {
      const dx = Math.max(minX - x[i], 0, x[i] - maxX);
      const dy = Math.max(minY - y[i], 0, y[i] - maxY);
      const d = dx * dx + dy * dy;
      if (d < best) best = d;
    }
    if (best === 0) return 0;
  }
  return Math.sqrt(best);
}

/**
 * Why a trajectory is far from the cloud, where a usual mistake explains it: the sentence says how it would fit.
 * @param x y projected coordinates in metres as they were read
 */
export function whyFar(
  boxes: readonly Box[],
  x: ArrayLike<number>,
  y: ArrayLike<number>,
  cloud: CloudSystem,
): string | null {
  const fits = (a: ArrayLike<number>, b: ArrayLike<number>) => distanceTo(boxes, a, b) <= FAR;
  if (looksLikeDegrees(sampleOf(x), sampleOf(y)))
    return 'its coordinates are degrees: call the columns longitude and latitude';
  if (fits(y, x)) return 'it fits with easting and northing exchanged';
  for (const [factor, unit] of [
    [0.3048, 'feet'],
    [1200 / 3937, 'US survey feet'],
    [1 / 0.3048, 'metres, not feet'],
    [3937 / 1200, 'metres, not US survey feet'],
  ] as const) {
    if (fits(scaled(x, factor), scaled(y, factor))) return `it fits if its coordinates are in ${unit}`;
  }
  for (const zone of neighbourZones(cloud)) {
    const system = systemOfMetres(zone, cloud, 1);
    if ('problem' in system || system.transform === null) continue;
    const { transform } = system;
    const places = sampleOf(x).map((value, i) => transform(value, sampleOf(y)[i]) ?? [Number.NaN, Number.NaN]);
    if (
      fits(
        places.map(([a]) => a),
        places.map(([, b]) => b),
      )
    )
      return `it fits if its system is ${zone}`;
  }
  return null;
}

function scaled(values: ArrayLike<number>, factor: number): Float64Array {
  return Float64Array.from(values, (value) => value * factor);
}

function sampleOf(values: ArrayLike<number>): number[] {
  const step = Math.max(1, Math.floor(values.length / 200));
  const found: number[] = [];
  for (let i = 0; i < values.length; i += step) found.push(values[i]);
  return found;
}

/** Metres that the vehicle must move between two epochs for its course to be used. */
const COURSE_STEP = 0.2;

/**
 * Median difference between headings and the course over ground, degrees, 0 to 180, and the number of places compared. A vehicle
 * looks where it drives, or backwards.
 */
export function headingAgainstCourse(
  x: Float64Array,
  y: Float64Array,
  heading: ArrayLike<number>,
  factor: number,
): { median: number; count: number } {
  const found: number[] = [];
  const step = Math.max(1, Math.floor(x.length / LOOKED_AT));
  let from = 0;
  for (let i = 1; i < x.length; i++) {
    const [dx, dy] = [x[i] - x[from], y[i] - y[from]];
    if (!(dx * dx + dy * dy >= COURSE_STEP * COURSE_STEP)) continue;
    if (i - from <= 2 * step && Number.isFinite(heading[i])) {
      const course = (Math.atan2(dx, dy) * 180) / Math.PI;
      const d = Math.abs(((((heading[i] * factor - course) % 360) + 540) % 360) - 180);
      found.push(d);
    }
    from = i;
    if (found.length >= LOOKED_AT) break;
  }
  found.sort((a, b) => a - b);
  return { median: found[found.length >> 1] ?? Number.NaN, count: found.length };
}

import { zoneByName } from '../../delivery/zones.js';
import { polygonIndexOf } from '../../geometry/polygon-index.js';
import { placesOfLargest } from '../../geometry/ranking.js';
import { percentile, percentileOfSorted } from '../../geometry/statistics.js';
import type { PassSurface } from '../../measure/pass-surfaces.js';
import type { SwathPrecision } from '../../measure/swath-precision.js';
import type { JudgeContext } from '../contract/check.js';

/** One pass in figures; `null`: cannot be determined. */
export interface PassFigures {
  pass: number;
  /** Level patches of the pass, rough ones among them, and the smooth ones that are judged. */
  level: number;
  rough: number;
  cells: number;
  rms: number | null;
  /** Standard error of the mean square, from cell to cell. */
  squareError: number;
  p95: number | null;
  range: number | null;
  x: Float64Array;
  y: Float64Array;
  /** RMS or slope-corrected range of each cell. */
  value: Float64Array;
  worst: { x: number; y: number; z: number; value: number; note: string }[];
}

/** Null: everywhere. */
type Inside = ((x: number, y: number) => boolean) | null;
const WORST = 10;

/** Where points count: in the zone, if the requirement names one. */
export function insideOf(zone: string | undefined, { delivery }: JudgeContext): Inside {
  if (zone === undefined) return null;
  const index = polygonIndexOf(zoneByName(delivery, zone).polygons);
  return (x, y) => index.holds(x, y);
}

/** By planes in voxels. */
export function figuresByPlanes(surface: PassSurface, inside: Inside): PassFigures {
  const { pass, x, y, z, points, variance, range, level, rough } = surface;
  const zone = placesInside(x, y, inside);
  const value = new Float64Array(zone.length);
  const squares = new Float64Array(zone.length);
  const weights = new Float64Array(zone.length);
  const ranges = new Float64Array(zone.length);
  for (let k = 0; k < zone.length; k++) {
    const i = zone[k];
    value[k] = Math.sqrt(variance[i]);
    squares[k] = variance[i];
    weights[k] = points[i] - 3;
    ranges[k] = range[i];
  }
  const [mean, squareError] = weightedMean(squares, weights);
  const largest = placesOfLargest(ranges, WORST).map((k) => zone[k]);
  const some = zone.length > 0;
  return {
    pass,
    level,
    rough,
    cells: zone.length,
    rms: some ? Math.sqrt(mean) : null,
    // Both lattices see each surface: only half of the patches are independent of one another.
    squareError: squareError * Math.SQRT2,
    p95: some ? percentile(value, 95) : null,
    range: some ? range[largest[0]] : null,
    x: inside ? Float64Array.from(zone, (i) => x[i]) : x,
    y: inside ? Float64Array.from(zone, (i) => y[i]) : y,
    value,
    worst: largest.map((i) => ({
      x: x[i],
      y: y[i],
      z: z[i],
      value: range[i],
      note: 'peak-to-peak height of nine adjacent patches, slope removed',
    })),
  };
}

/** Which of the places lie inside. */
function placesInside(x: Float64Array, y: Float64Array, inside: Inside): Int32Array {
  const places = new Int32Array(x.length);
  let count = 0;
  for (let i = 0; i < x.length; i++) if (inside === null || inside(x[i], y[i])) places[count++] = i;
  return places.subarray(0, count);
}

/** By ranges of heights in cells of the plan. */
export function figuresByCells(cells: SwathPrecision, inside: Inside): PassFigures {
  const zone = [...placesInside(cells.x, cells.y, inside)];
  const value = Float64Array.from(zone, (i) => cells.precision[i]);
  const sorted = Float64Array.from(value).sort();
  const [mean, squareError] = weightedMean(
    zone.map((i) => cells.precision[i] ** 2),
    zone.map(() => 1),
  );
  return {
    pass: cells.pass,
    level: cells.x.length,
    rough: 0,
    cells: zone.length,
    rms: zone.length > 0 ? Math.sqrt(mean) : null,
    squareError,
    p95: zone.length > 0 ? percentileOfSorted(sorted, 95) : null,
    range: zone.length > 0 ? sorted[sorted.length - 1] : null,
    x: Float64Array.from(zone, (i) => cells.x[i]),
    y: Float64Array.from(zone, (i) => cells.y[i]),
    value,
    worst: [...zone]
      .sort((a, b) => cells.precision[b] - cells.precision[a] || a - b)
      .slice(0, WORST)
      .map((i) => ({
        x: cells.x[i],
        y: cells.y[i],
        z: cells.z[i],
        value: cells.precision[i],
        note: 'range of heights in the cell, slope taken off',
      })),
  };
}

/** Weighted mean and its standard error from the scatter of the values. */
function weightedMean(values: ArrayLike<number>, weights: ArrayLike<number>): [number, number] {
  let weight = 0;
  let sum = 0;
  for (let i = 0; i < values.length; i++) {
    weight += weights[i];
    sum += weights[i] * values[i];
  }
  if (weight === 0) return [0, 0];
  const mean = sum / weight;
  let squares = 0;
  for (let i = 0; i < values.length; i++) squares += (weights[i] * (values[i] - mean)) ** 2;
  return [mean, Math.sqrt(squares) / weight];
}

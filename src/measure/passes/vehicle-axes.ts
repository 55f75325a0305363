import { solveSymmetric } from '../../geometry/least-squares.js';
import { medianAndNmad } from '../../geometry/statistics.js';

/** A value with its standard deviation. */
export interface AxisEstimate {
  value: number;
  std: number;
  /** Mean GPS time of what shows it, seconds. */
  at: number;
}

/** A displacement in the frame of the vehicle; null where nothing shows it. Metres; degrees: left side up, front up, clockwise. */
export interface VehicleOffset {
  along: AxisEstimate | null;
  left: AxisEstimate | null;
  up: AxisEstimate | null;
  roll: AxisEstimate | null;
  pitch: AxisEstimate | null;
  heading: AxisEstimate | null;
}

const VEHICLE_AXES = ['along', 'left', 'up', 'roll', 'pitch', 'heading'] as const;

/**
 * Distances between what two passes show of one surface, in the frame of the vehicle: the normal of the surface and the place seen from
 * the scanner, forward, left, up.
 */
export class AxisObservations {
  count = 0;
  readonly rows: number[] = [];
  readonly distances: number[] = [];
  /** 1 for walls, 0 for level ground: they scatter differently. */
  readonly kinds: number[] = [];
  readonly times: number[] = [];

  add(
    time: number,
    normal: readonly [number, number, number],
    from: readonly [number, number, number],
    distance: number,
  ): void {
    const [nf, nl, nu] = normal;
    const [f, l, u] = from;
    // A small turn moves a place by its vector times the place: roll about forward, pitch about right, heading about down.
    this.rows.push(nf, nl, nu, -nl * u + nu * l, -nf * u + nu * f, nf * l - nl * f);
    this.distances.push(distance);
    this.times.push(time);
    this.kinds.push(Math.abs(nu) > 0.5 ? 0 : 1);
    this.count++;
  }
}

/** What is taken as known before anything is measured: metres, degrees. A result that is hardly better than this is none. */
const PRIOR = [1, 1, 1, 1, 1, 1];
const BETTER = 0.1;
/** Distances that an axis of the displacement needs, and the least part of the normal along it. */
const SUPPORT = 10;
const LEAST_COSINE = 0.35;
const DEGREES = 180 / Math.PI;
const ROUNDS = 5;
/** Distances farther from the solution than so many NMAD are left out, and never those nearer than this, metres. */
const FARTHEST = 4;
const FLOOR = 0.002;
/** Least standard deviation of a distance, metres. */
const LEAST_STD = 0.0005;
/** Both lattices of voxels see each surface: only half of the distances are independent of one another. */
const LATTICES = 2;

/**
 * The displacement that fits the distances best, by least squares with weights from their scatter. What the surfaces do not show is null.
 * @param axes 3 for a displacement without a turn, 6 with it
 */
export function fitVehicleOffset(seen: AxisObservations, axes: 3 | 6, least: number): VehicleOffset {
  const nothing: VehicleOffset = { along: null, left: null, up: null, roll: null, pitch: null, heading: null };
  if (seen.count < least) return nothing;
  const used = new Uint8Array(seen.count).fill(1);
  let stds = [0.005, 0.005];
  let fit = solve(seen, axes, used, stds);
  for (let round = 0; fit !== null && round < ROUNDS; round++) {
    stds = chooseByScatter(seen, axes, fit.values, used);
    fit = solve(seen, axes, used, stds);
  }
  if (fit === null) return nothing;
  for (let k = 0; k < axes; k++) {
    const scale = k < 3 ? 1 : DEGREES;
    const std = fit.stds[k] * scale;
    if (std >= BETTER * PRIOR[k] || (k < 3 && supportOf(seen, used, k) < SUPPORT)) continue;
    nothing[VEHICLE_AXES[k]] = { value: fit.values[k] * scale, std, at: timeOf(seen, used, k) };
  }
  return nothing;
}

/** Distances that constrain an axis: their surface is at most 70 degrees off it. */
function supportOf({ rows, count }: AxisObservations, used: Uint8Array, axis: number): number {
  let support = 0;
  for (let i = 0; i < count; i++) if (used[i] === 1 && Math.abs(rows[i * 6 + axis]) >= LEAST_COSINE) support++;
  return support;
}

/** Mean time of the distances, each with the weight that it has for the axis. */
function timeOf({ rows, times, count }: AxisObservations, used: Uint8Array, axis: number): number {
  let sum = 0;
  let weights = 0;
  for (let i = 0; i < count; i++) {
    const weight = used[i] * rows[i * 6 + axis] ** 2;
    sum += weight * (times[i] - times[0]);
    weights += weight;
  }
  return times[0] + sum / weights;
}

/** Marks the distances that are used, and gives the scatter of both kinds. */
function chooseByScatter(seen: AxisObservations, axes: number, values: Float64Array, used: Uint8Array): number[] {
  return [0, 1].map((kind) => {
    const places: number[] = [];
    const residuals: number[] = [];
    for (let i = 0; i < seen.count; i++) {
      if (seen.kinds[i] !== kind) continue;
      let rest = seen.distances[i];
      for (let k = 0; k < axes; k++) rest -= seen.rows[i * 6 + k] * values[k];
      places.push(i);
      residuals.push(rest);
    }
    if (places.length === 0) return LEAST_STD;
    const { median, nmad } = medianAndNmad(residuals);
    const limit = Math.max(FLOOR, FARTHEST * nmad) + Math.abs(median);
    for (const [at, i] of places.entries()) used[i] = Math.abs(residuals[at]) <= limit ? 1 : 0;
    return Math.max(nmad, LEAST_STD);
  });
}

function solve(seen: AxisObservations, axes: number, used: Uint8Array, scatter: readonly number[]) {
  const normal = new Float64Array(axes * axes);
  const right = new Float64Array(axes);
  for (let k = 0; k < axes; k++) normal[k * axes + k] = 1 / (k < 3 ? PRIOR[k] : PRIOR[k] / DEGREES) ** 2;
  for (let i = 0; i < seen.count; i++) {
    if (used[i] === 0) continue;
    const weight = 1 / (LATTICES * scatter[seen.kinds[i]] ** 2);
    for (let j = 0; j < axes; j++) {
      const part = weight * seen.rows[i * 6 + j];
      right[j] += part * seen.distances[i];
      for (let k = 0; k < axes; k++) normal[j * axes + k] += part * seen.rows[i * 6 + k];
    }
  }
  const values = Float64Array.from(right);
  if (!solveSymmetric(Float64Array.from(normal), values, axes)) return null;
  const stds = new Float64Array(axes);
  for (let k = 0; k < axes; k++) {
    const unit = new Float64Array(axes);
    unit[k] = 1;
    if (!solveSymmetric(Float64Array.from(normal), unit, axes)) return null;
    stds[k] = Math.sqrt(unit[k]);
  }
  return { values, stds };
}

import type { Drive } from '../../delivery/trajectory.js';
import { BRIDGED, secondsOf } from './drives.js';

/**
 * Largest acceleration of a road vehicle, m/s²: what tyres hold on a dry road, about that of gravity (common practice). A change of
 * position that needs more is no movement of the vehicle.
 */
export const STRONGEST = 10;
/** Least distance that is called a jump, metres: positions of successive rows scatter by millimetres. */
const SCATTER = 0.02;
/** Time over which a speed is taken, seconds: a scatter of 10 mm is then less than 0.1 km/h. */
export const SPEED_SECONDS = 0.5;

/** A change of position that no vehicle can make. */
export interface Jump {
  drive: Drive;
  /** Epoch behind the jump. */
  epoch: number;
  /** Distance beyond what the strongest acceleration allows, metres. */
  metres: number;
}

/**
 * Changes of position between epochs that the speed before and the strongest acceleration do not allow. Over a gap nothing is said.
 * With speed v over the time a before a place and b behind it, the vehicle can be at most STRONGEST * b * (a + b) / 2 away from where v leads.
 */
export function jumpsOf(drive: Drive): Jump[] {
  const { time, x, y, z, epochs } = drive;
  const found: Jump[] = [];
  let skip = false;
  for (let e = 2; e < epochs; e++) {
    const a = time[e - 1] - time[e - 2];
    const b = time[e] - time[e - 1];
    if (a > BRIDGED || b > BRIDGED || skip) {
      // Behind a jump the speed before is none of the vehicle.
      skip = false;
      continue;
    }
    const beyond = (p: Float64Array) => p[e] - p[e - 1] - ((p[e - 1] - p[e - 2]) / a) * b;
    const up = beyond(z);
    // Rows without a height are judged by their horizontal position.
    const away = Math.hypot(beyond(x), beyond(y), Number.isNaN(up) ? 0 : up);
    const metres = away - (STRONGEST * b * (a + b)) / 2;
    if (metres <= SCATTER) continue;
    found.push({ drive, epoch: e, metres });
    skip = true;
  }
  return found;
}

/** Speed at every epoch, km/h, over SPEED_SECONDS; NaN where a gap or the end of the drive is nearer. */
export function speedsOf(drive: Drive): Float32Array {
  const { time, x, y, epochs, interval } = drive;
  const speeds = new Float32Array(epochs).fill(Number.NaN);
  let to = 0;
  let gap = -1;
  for (let e = 0; e < epochs; e++) {
    if (to < e) to = e;
    while (to < epochs && time[to] - time[e] < SPEED_SECONDS - 1e-6) {
      if (interval[to] > BRIDGED) gap = to;
      to++;
    }
    if (to >= epochs) break;
    if (gap >= e) continue;
    speeds[e] = (Math.hypot(x[to] - x[e], y[to] - y[e]) / (time[to] - time[e])) * 3.6;
  }
  return speeds;
}

/** Fastest speed, and the share of the time with a speed above a limit. */
export function speedFound(
  drives: readonly Drive[],
  limit: number | undefined,
): { fastest: number | null; above: number | null; at: { drive: Drive; epoch: number } | null } {
  let fastest: number | null = null;
  let at: { drive: Drive; epoch: number } | null = null;
  let above = 0;
  let all = 0;
  for (const drive of drives) {
    const speeds = speedsOf(drive);
    for (let e = 0; e < drive.epochs; e++) {
      const speed = speeds[e];
      if (Number.isNaN(speed)) continue;
      const seconds = secondsOf(drive, e);
      all += seconds;
      if (limit !== undefined && speed > limit) above += seconds;
      if (fastest === null || speed > fastest) {
        fastest = speed;
        at = { drive, epoch: e };
      }
    }
  }
  return { fastest, above: all > 0 ? above / all : null, at };
}

/** The longest time between two rows, seconds, and where. */
export function longestGap(drives: readonly Drive[]): { seconds: number; at: { drive: Drive; epoch: number } | null } {
  let seconds = 0;
  let at: { drive: Drive; epoch: number } | null = null;
  for (const drive of drives) {
    for (let e = 0; e < drive.epochs; e++) {
      if (drive.interval[e] <= seconds) continue;
      seconds = drive.interval[e];
      at = { drive, epoch: e };
    }
  }
  return { seconds, at };
}

import type { Drive } from '../../delivery/trajectory.js';
import type { Figure, JudgeContext, Location, Verdict } from '../contract/check.js';
import { undetermined } from '../contract/wording.js';

/** Rows farther apart than this are a gap, over which nothing is known, seconds: receivers for surveys record every second or more often. */
export const BRIDGED = 2;

/** The drives of the delivery; otherwise the verdict that nothing can be said, with the reason. */
export function drivesOf(
  { delivery }: JudgeContext,
  limits: Record<string, Figure>,
): { drives: readonly Drive[] } | { verdict: Verdict } {
  const { trajectory } = delivery;
  if (trajectory === null) {
    const advice = ['Give the trajectory of the vehicle with --trajectory.'];
    return { verdict: undetermined('No trajectory was given, so nothing is known of the drive.', { limits, advice }) };
  }
  if (trajectory.problem === undefined && trajectory.drives.length > 0) return { drives: trajectory.drives };
  const advice = ['Correct the file of the trajectory, or give the one that belongs to these points, and check again.'];
  const reason = trajectory.problem ?? 'it holds no drive';
  return {
    verdict: undetermined(`The trajectory could not be used: ${reason.replace(/\.$/, '')}.`, { limits, advice }),
  };
}

/** Time from an epoch to the next one, seconds; 0 over a gap and for the last one. */
export function secondsOf({ time, epochs, interval }: Drive, e: number): number {
  if (e + 1 >= epochs || interval[e] > BRIDGED) return 0;
  return time[e + 1] - time[e];
}

/** Horizontal distance driven from one epoch to another, metres. */
export function metresDriven({ x, y }: Drive, from: number, to: number): number {
  let metres = 0;
  for (let e = from + 1; e <= to; e++) metres += Math.hypot(x[e] - x[e - 1], y[e] - y[e - 1]);
  return metres;
}

/** A place in the report at an epoch. */
export function placeAt(drive: Drive, e: number, value: number | null, unit: Location['unit'], note: string): Location {
  const { x, y, z } = drive;
  return { x: x[e], y: y[e], z: z[e], pass: drive.name, value, unit, note };
}

/** A GPS time as the points have it. */
export function timeWords(time: number): string {
  return `GPS time ${time.toFixed(3)} s`;
}

/** Epochs of a drive in runs that meet a condition: [first, behind the last]. */
export function runsOf({ epochs }: Drive, meets: (e: number) => boolean): [number, number][] {
  const runs: [number, number][] = [];
  for (let e = 0; e < epochs; e++) {
    if (!meets(e)) continue;
    const last = runs.at(-1);
    if (last && last[1] === e) last[1] = e + 1;
    else runs.push([e, e + 1]);
  }
  return runs;
}

/** Points of a line in a chart, at most. */
const CHART_POINTS = 600;

/**
 * A line of a chart along a drive: seconds since its begin, and the worst value within each step; gaps interrupt it.
 * @param worse whether a value is worse than another
 */
export function chartLine(
  drive: Drive,
  name: string,
  valueAt: (e: number) => number,
  worse: (a: number, b: number) => boolean,
): { name: string; x: number[]; y: (number | null)[] } {
  const { time, epochs } = drive;
  const begin = time[0];
  const width = Math.max(1e-9, (time[epochs - 1] - begin) / CHART_POINTS);
  const line = { name, x: [] as number[], y: [] as (number | null)[] };
  let step = -1;
  for (let e = 0; e < epochs; e++) {
    const at = Math.floor((time[e] - begin) / width);
    const value = valueAt(e);
    const known = line.y.at(-1);
    if (at === step && known !== undefined) {
      if (!Number.isNaN(value) && (known === null || worse(value, known))) line.y[line.y.length - 1] = value;
      continue;
    }
    if (e > 0 && drive.interval[e - 1] > BRIDGED) {
      line.x.push(time[e - 1] - begin);
      line.y.push(null);
    }
    step = at;
    line.x.push(time[e] - begin);
    line.y.push(Number.isNaN(value) ? null : value);
  }
  return line;
}

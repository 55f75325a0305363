import { type Drive, NOT_STATED } from '../../delivery/trajectory.js';
import type { PointSeconds } from '../../measure/point-seconds.js';
import { BRIDGED, metresDriven } from './drives.js';
import { SPEED_SECONDS, speedsOf } from './motion.js';

/** What the vehicle did at one end of a drive, outside the time of its points. */
export interface DriveEnd {
  drive: Drive;
  end: 'start' | 'end';
  /** Epochs from and to (inclusive) which no point was recorded. */
  from: number;
  to: number;
  /** Longest time of standing, seconds, and the largest distance from its middle, metres; null where the vehicle did not stand. */
  stand: { from: number; to: number; seconds: number; scatter: number } | null;
  metres: number;
  /** Angle between the outermost courses, degrees, at most 360. */
  headingRange: number;
  /** Changes of the speed by at least what is asked, up or down. */
  speedChanges: number;
  /** Least number of satellites; null where it is not stated all the time. */
  satellites: number | null;
  /** Points recorded while the vehicle stood there, beyond this end. */
  pointsWhileStanding: number;
}

/** How standing and a change of speed are defined: kilometres an hour. */
export interface Motion {
  standSpeed: number;
  speedChange: number;
}

/**
 * The ends of a drive: before its first point, and after its last one. Whole seconds with points are not part of them.
 * @returns null for a drive in whose time there is no point
 */
export function endsOf(drive: Drive, points: PointSeconds, motion: Motion): { start: DriveEnd; end: DriveEnd } | null {
  const { time, epochs } = drive;
  const speeds = speedsOf(drive);
  const within = Array.from(points.second).filter((s) => s + 1 > time[0] && s <= time[epochs - 1]);
  if (within.length === 0) return null;
  const [first, last] = [within[0], within[within.length - 1] + 1];
  let head = -1;
  while (head + 1 < epochs && time[head + 1] < first) head++;
  let tail = epochs;
  while (tail > 0 && time[tail - 1] >= last) tail--;
  return {
    start: endOf(drive, 'start', [0, head], speeds, points, motion),
    end: endOf(drive, 'end', [tail, epochs - 1], speeds, points, motion),
  };
}

function endOf(
  drive: Drive,
  end: DriveEnd['end'],
  [from, to]: [number, number],
  speeds: Float32Array,
  points: PointSeconds,
  { standSpeed, speedChange }: Motion,
): DriveEnd {
  const stands = standsOf(drive, speeds, standSpeed);
  const inside = stands
    .map(([a, b]) => [Math.max(a, from), Math.min(b, to)] as const)
    .filter(([a, b]) => b > a)
    .map(([a, b]) => ({ from: a, to: b, seconds: drive.time[b] - drive.time[a], scatter: scatterOf(drive, a, b) }));
  // The stand nearest to this end of the drive, as a whole: points in it were recorded while it was to align.
  const whole = end === 'start' ? stands[0] : stands[stands.length - 1];
  return {
    drive,
    end,
    from,
    to,
    stand: inside.reduce<DriveEnd['stand']>((best, one) => (best && best.seconds >= one.seconds ? best : one), null),
    metres: to > from ? metresDriven(drive, from, to) : 0,
    ...movesOf(drive, from, to, speeds, speedChange),
    satellites: satellitesOf(drive, from, to),
    pointsWhileStanding: whole ? pointsWithin(points, drive.time[whole[0]], drive.time[whole[1]]) : 0,
  };
}

/** Runs of epochs, from and to inclusive, in which the vehicle stands. A speed is that of the SPEED_SECONDS behind an epoch. */
function standsOf({ epochs, interval, time }: Drive, speeds: Float32Array, most: number): [number, number][] {
  const runs: [number, number][] = [];
  let open = false;
  for (let e = 0; e < epochs; e++) {
    const stands: boolean = speeds[e] <= most;
    if (stands && open) runs[runs.length - 1][1] = e;
    else if (stands) runs.push([e, e]);
    open = stands && interval[e] <= BRIDGED;
  }
  for (const run of runs) {
    const until = time[run[1]] + SPEED_SECONDS + 1e-6;
    while (run[1] + 1 < epochs && time[run[1] + 1] <= until) run[1]++;
  }
  return runs;
}

/** Largest distance from the mean place, metres. */
function scatterOf({ x, y }: Drive, from: number, to: number): number {
  let [sumX, sumY] = [0, 0];
  for (let e = from; e <= to; e++) {
    sumX += x[e] - x[from];
    sumY += y[e] - y[from];
  }
  const n = to - from + 1;
  const [mx, my] = [x[from] + sumX / n, y[from] + sumY / n];
  let largest = 0;
  for (let e = from; e <= to; e++) largest = Math.max(largest, Math.hypot(x[e] - mx, y[e] - my));
  return largest;
}

/** Metres between places of which the course is taken. */
const COURSE_STEP = 1;

function movesOf(
  { x, y }: Drive,
  from: number,
  to: number,
  speeds: Float32Array,
  change: number,
): { headingRange: number; speedChanges: number } {
  let [course, turned, low, high] = [Number.NaN, 0, 0, 0];
  let at = from;
  let speedChanges = 0;
  let [least, most, rising] = [Number.NaN, Number.NaN, 0];
  for (let e = from; e <= to; e++) {
    const [dx, dy] = [x[e] - x[at], y[e] - y[at]];
    if (dx * dx + dy * dy >= COURSE_STEP * COURSE_STEP) {
      const now = (Math.atan2(dx, dy) * 180) / Math.PI;
      if (!Number.isNaN(course)) turned += ((((now - course) % 360) + 540) % 360) - 180;
      course = now;
      at = e;
      low = Math.min(low, turned);
      high = Math.max(high, turned);
    }
    const speed = speeds[e];
    if (Number.isNaN(speed)) continue;
    least = Number.isNaN(least) ? speed : Math.min(least, speed);
    most = Number.isNaN(most) ? speed : Math.max(most, speed);
    // A change counts once; behind it the next one is in the other direction.
    if (rising <= 0 && speed - least >= change) {
      speedChanges++;
      rising = 1;
      most = speed;
    } else if (rising >= 0 && most - speed >= change) {
      speedChanges++;
      rising = -1;
      least = speed;
    }
  }
  return { headingRange: Math.min(360, high - low), speedChanges };
}

function satellitesOf({ satellites }: Drive, from: number, to: number): number | null {
  if (satellites === null || to < from) return null;
  let least = NOT_STATED;
  for (let e = from; e <= to; e++) {
    if (satellites[e] === NOT_STATED) return null;
    least = Math.min(least, satellites[e]);
  }
  return least;
}

function pointsWithin({ second, points }: PointSeconds, from: number, to: number): number {
  let count = 0;
  for (let i = 0; i < second.length; i++) if (second[i] >= from && second[i] + 1 <= to) count += points[i];
  return count;
}

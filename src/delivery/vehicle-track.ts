import { createHash } from 'node:crypto';
import type { Drive, Trajectory } from './trajectory.js';

/** Where the scanner is from the reference point of the vehicle: forward, left and up, metres. */
export type LeverArm = readonly [forward: number, left: number, up: number];

/**
 * The way of the scanner through all drives, one list of epochs with ascending times, in memory that all threads share. Between two
 * drives, and where two drives have the same time, there is no position: it is NaN there.
 */
export interface VehicleTrack {
  /** SHA-256 of the arrays, 64 hexadecimal digits. It stands for them in the key of a fact. */
  digest: string;
  shared: TrackColumns;
}

export interface TrackColumns {
  /** GPS time as in the cloud, seconds. */
  time: Float64Array;
  /** World coordinates, tenths of a millimetre. */
  east: Float64Array;
  north: Float64Array;
  up: Float64Array;
}

/** Epochs farther apart than this have no position between them, seconds. */
const LONGEST_INTERVAL = 2;
/** Time after the last epoch of a drive from which there is no position, seconds. */
const AFTER_END = 1e-6;
const QUANTA_PER_METRE = 10_000;
const NO_LEVER: LeverArm = [0, 0, 0];
const COLUMNS = ['time', 'east', 'north', 'up'] as const;

const made = new WeakMap<Trajectory, Map<string, VehicleTrack>>();

/** The track of the scanner; made once for a trajectory and a lever arm. */
export function vehicleTrack(trajectory: Trajectory, lever: LeverArm = NO_LEVER): VehicleTrack {
  const known = made.get(trajectory) ?? new Map<string, VehicleTrack>();
  made.set(trajectory, known);
  const key = lever.join();
  const track = known.get(key) ?? makeTrack(trajectory, lever);
  known.set(key, track);
  return track;
}

function makeTrack({ drives }: Trajectory, lever: LeverArm): VehicleTrack {
  const shared = sharedColumns(2 * drives.reduce((sum, { epochs }) => sum + epochs + 1, 0));
  let count = 0;
  const put = (time: number, east: number, north: number, up: number) => {
    shared.time[count] = time;
    shared.east[count] = east * QUANTA_PER_METRE;
    shared.north[count] = north * QUANTA_PER_METRE;
    shared.up[count++] = up * QUANTA_PER_METRE;
  };
  const place = new Float64Array(3);
  for (const [index, drive] of drives.entries()) {
    let last = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < drive.epochs; i++) {
      const time = drive.time[i];
      if (time <= last || drives.some((other, k) => k !== index && covers(other, time))) continue;
      // Between distant epochs there is no position either.
      if (last !== Number.NEGATIVE_INFINITY && isGap(drive, i))
        put(last + AFTER_END, Number.NaN, Number.NaN, Number.NaN);
      placeOfScanner(drive, i, lever, place);
      put(time, place[0], place[1], place[2]);
      last = time;
    }
    if (last !== Number.NEGATIVE_INFINITY) put(last + AFTER_END, Number.NaN, Number.NaN, Number.NaN);
  }
  return digested(sortedByTime(shared, count));
}

/** Whether the drive was under way at a time: then only one of two drives can have seen a point, and nothing says which. */
function covers({ time, epochs }: Drive, at: number): boolean {
  return epochs > 0 && at >= time[0] && at <= time[epochs - 1];
}

function isGap({ time }: Drive, i: number): boolean {
  return time[i] - time[i - 1] > LONGEST_INTERVAL;
}

function sharedColumns(length: number): TrackColumns {
  const column = () => new Float64Array(new SharedArrayBuffer(length * 8));
  return { time: column(), east: column(), north: column(), up: column() };
}

/** Drives are ascending by their begin; what they cover together was left out, and a drive over the end of a week is in two parts. */
function sortedByTime(from: TrackColumns, count: number): TrackColumns {
  const order = Uint32Array.from({ length: count }, (_, i) => i);
  let ascending = true;
  for (let i = 1; i < count; i++) if (from.time[i] < from.time[i - 1]) ascending = false;
  if (!ascending) order.sort((a, b) => from.time[a] - from.time[b] || a - b);
  const to = sharedColumns(count);
  for (const name of COLUMNS) for (let i = 0; i < count; i++) to[name][i] = from[name][order[i]];
  return to;
}

function digested(shared: TrackColumns): VehicleTrack {
  const hash = createHash('sha256');
  // Copied, because a digest cannot be taken of shared memory.
  for (const name of COLUMNS) hash.update(Uint8Array.from(new Uint8Array(shared[name].buffer)));
  return { digest: hash.digest('hex'), shared };
}

const DEGREE = Math.PI / 180;

/**
 * Place of the scanner at an epoch, metres: the lever arm turned by roll (left side up), pitch (front up) and heading (clockwise from
 * north). Without a heading, that of the way from the epoch before to the next one; without roll or pitch, a level vehicle.
 */
function placeOfScanner(drive: Drive, i: number, [forward, left, up]: LeverArm, out: Float64Array): void {
  out[0] = drive.x[i];
  out[1] = drive.y[i];
  out[2] = drive.z[i];
  if (forward === 0 && left === 0 && up === 0) return;
  const roll = (drive.roll?.[i] ?? 0) * DEGREE;
  const pitch = (drive.pitch?.[i] ?? 0) * DEGREE;
  const heading = drive.heading === null ? courseAt(drive, i) : drive.heading[i] * DEGREE;
  const side = left * Math.cos(roll) - up * Math.sin(roll);
  const raised = left * Math.sin(roll) + up * Math.cos(roll);
  const ahead = forward * Math.cos(pitch) - raised * Math.sin(pitch);
  out[0] += ahead * Math.sin(heading) - side * Math.cos(heading);
  out[1] += ahead * Math.cos(heading) + side * Math.sin(heading);
  out[2] += forward * Math.sin(pitch) + raised * Math.cos(pitch);
}

/** Direction of the way, radians clockwise from north; that of the last movement where the vehicle stands. */
function courseAt({ x, y, epochs }: Drive, i: number): number {
  const next = Math.min(epochs - 1, i + 1);
  for (let before = Math.max(0, i - 1); before >= 0; before--) {
    const [dx, dy] = [x[next] - x[before], y[next] - y[before]];
    if (dx * dx + dy * dy > 0.01) return Math.atan2(dx, dy);
  }
  return 0;
}

import type { Drive, Trajectory } from './trajectory.js';

/** Where the vehicle is, metres, and where it heads: unit vector to the front, east and north. */
export interface VehiclePose {
  x: number;
  y: number;
  z: number;
  east: number;
  north: number;
}

/** Epochs farther apart than this have no place between them, seconds. */
const LONGEST_INTERVAL = 2;
/** Way on both sides from which a heading is taken where the trajectory states none, metres. */
const COURSE = 1;
/** Epochs that are looked at for it. */
const COURSE_EPOCHS = 200;

/** Places and headings of the vehicle by time, of all drives. */
export class VehiclePoses {
  readonly #drives: readonly Drive[];

  constructor({ drives }: Trajectory) {
    this.#drives = drives.filter(({ epochs }) => epochs > 1);
  }

  /**
   * Writes the place and the heading at a time, linear between two epochs, into `out`.
   * @returns false where there is none, or two drives have that time
   */
  at(time: number, out: VehiclePose): boolean {
    let found: Drive | null = null;
    for (const drive of this.#drives) {
      if (!(time >= drive.time[0] && time <= drive.time[drive.epochs - 1])) continue;
      if (found !== null) return false;
      found = drive;
    }
    return found !== null && poseOf(found, time, out);
  }
}

function poseOf(drive: Drive, at: number, out: VehiclePose): boolean {
  const { time, x, y, z, epochs } = drive;
  let low = 0;
  let high = epochs - 2;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (time[middle] <= at) low = middle;
    else high = middle - 1;
  }
  const seconds = time[low + 1] - time[low];
  if (seconds > LONGEST_INTERVAL) return false;
  const share = seconds > 0 ? (at - time[low]) / seconds : 0;
  out.x = x[low] + share * (x[low + 1] - x[low]);
  out.y = y[low] + share * (y[low + 1] - y[low]);
  out.z = z[low] + share * (z[low + 1] - z[low]);
  return drive.heading === null ? courseAt(drive, low, out) : headingAt(drive.heading, low, share, out);
}

function headingAt(heading: Float32Array, low: number, share: number, out: VehiclePose): boolean {
  const turn = ((heading[low + 1] - heading[low] + 540) % 360) - 180;
  const angle = ((heading[low] + share * turn) * Math.PI) / 180;
  out.east = Math.sin(angle);
  out.north = Math.cos(angle);
  return Number.isFinite(angle);
}

function courseAt({ x, y, epochs }: Drive, at: number, out: VehiclePose): boolean {
  let before = at;
  let after = at + 1;
  for (let k = 0; k < COURSE_EPOCHS; k++) {
    const [dx, dy] = [x[after] - x[before], y[after] - y[before]];
    const way = Math.hypot(dx, dy);
    if (way >= COURSE) {
      out.east = dx / way;
      out.north = dy / way;
      return true;
    }
    before = Math.max(0, before - 1);
    after = Math.min(epochs - 1, after + 1);
  }
  return false;
}

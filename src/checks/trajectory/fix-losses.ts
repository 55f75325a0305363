import { type Drive, SOLUTIONS, type Solution } from '../../delivery/trajectory.js';
import { BRIDGED, metresDriven, runsOf } from './drives.js';

/** A loss of fixed position, from the first row without it to the first row with it again. */
export interface Outage {
  drive: Drive;
  /** First epoch of the loss, and the first one behind it (that of the end of the drive where it is not found again). */
  from: number;
  to: number;
  /** GPS time of its first row, seconds. */
  start: number;
  seconds: number;
  metres: number;
  /** Worst solution of it, in words; "no rows" for a gap between rows. */
  worst: Solution | 'no rows';
  /** Largest standard deviation of the position in it, metres; null where the file states none. */
  sigma: number | null;
  /** The position was not fixed any more before the drive ended, or not yet when it began: it may be longer. */
  open: boolean;
}

/**
 * Every loss of fixed position of some drives, in order of time. Epochs begin where the solution changes, so that times are those of
 * rows. A gap between rows of more than BRIDGED seconds is a loss as well: nothing is known of the position there.
 * @param accepted solutions that are taken for a fixed position
 * @throws RangeError for a drive without solutions
 */
export function lossesOfFixedPosition(drives: readonly Drive[], accepted: readonly Solution[]): Outage[] {
  const good = new Set(accepted.map((solution) => SOLUTIONS.indexOf(solution)));
  return withTurnOfWeek(drives.flatMap((drive) => outagesOfDrive(drive, good)));
}

function outagesOfDrive(drive: Drive, good: ReadonlySet<number>): Outage[] {
  const { solution, time, epochs, interval } = drive;
  if (solution === null) throw new RangeError(`${drive.name} has no solutions`);
  const lost = (e: number) => !good.has(solution[e]);
  return runsOf(drive, (e) => lost(e) || interval[e] > BRIDGED).map(([from, end]) => {
    // A run ends where the next row has a fixed position.
    const to = Math.min(end, epochs - 1);
    let worst: number = SOLUTIONS.length;
    for (let e = from; e < end; e++) if (lost(e) && solution[e] < worst) worst = solution[e];
    return {
      drive,
      from,
      to,
      start: time[from],
      seconds: time[to] - time[from],
      metres: metresDriven(drive, from, to),
      worst: worst < SOLUTIONS.length ? SOLUTIONS[worst] : ('no rows' as const),
      sigma: largestSigma(drive, from, end),
      open: end === epochs || (from === 0 && lost(0)),
    };
  });
}

function largestSigma({ sigmaEast, sigmaNorth, sigmaUp }: Drive, from: number, end: number): number | null {
  let largest: number | null = null;
  for (const column of [sigmaEast, sigmaNorth, sigmaUp]) {
    if (column === null) continue;
    for (let e = from; e < end; e++) if (column[e] > (largest ?? -1)) largest = column[e];
  }
  return largest;
}

/** Joins the two parts of an outage at the end of the GPS week, where a drive may be cut. */
function withTurnOfWeek(outages: readonly Outage[]): Outage[] {
  const joined: Outage[] = [];
  const gone = new Set<Outage>();
  for (const second of outages) {
    if (second.drive.continues === undefined || second.from !== 0) continue;
    const first = outages.find(({ drive, to }) => drive.name === second.drive.continues && to === drive.epochs - 1);
    if (!first) continue;
    gone.add(first);
    gone.add(second);
    const between = first.drive.interval[first.drive.epochs - 1];
    const { x, y, epochs } = first.drive;
    const step = Math.hypot(second.drive.x[0] - x[epochs - 1], second.drive.y[0] - y[epochs - 1]);
    joined.push({
      ...first,
      seconds: first.seconds + between + second.seconds,
      metres: first.metres + step + second.metres,
      worst: first.worst === 'no rows' ? second.worst : first.worst,
      sigma: Math.max(first.sigma ?? 0, second.sigma ?? 0) || null,
      open: (first.from === 0 && first.open) || (second.to === second.drive.epochs - 1 && second.open),
    });
  }
  return [...outages.filter((outage) => !gone.has(outage)), ...joined];
}

/** Whether a place is within a horizontal distance of the way driven during an outage. */
export function isBeside({ drive, from, to }: Outage, x: number, y: number, radius: number): boolean {
  const limit = radius * radius;
  for (let e = from; e <= to; e++) {
    const n = Math.min(e + 1, to);
    const [ax, ay] = [drive.x[e], drive.y[e]];
    const [dx, dy] = [drive.x[n] - ax, drive.y[n] - ay];
    const length = dx * dx + dy * dy;
    const t = length > 0 ? Math.max(0, Math.min(1, ((x - ax) * dx + (y - ay) * dy) / length)) : 0;
    const [px, py] = [x - ax - t * dx, y - ay - t * dy];
    if (px * px + py * py <= limit) return true;
  }
  return false;
}

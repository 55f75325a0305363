import type { Drive, Trajectory } from './trajectory.js';

/** A part of a drive in one direction. */
interface DriveSection {
  /** Numbers of the drive and of the section within it, from 1. */
  drive: number;
  section: number;
  /** GPS times as in the cloud, seconds: from the first, up to and without the second. */
  from: number;
  to: number;
  /** Degrees clockwise from grid north, from the begin of the section to its end; null where the vehicle did not leave its place. */
  direction: number | null;
}

/** The sections of all drives, and which of them holds at a time. */
export interface DriveSections {
  /** Times at which another section begins to hold, ascending, seconds; the first is -Infinity. */
  starts: Float64Array;
  /** From each of these times on: number of the section in `sections`, from 1; 0 for no section, or two drives at once. */
  values: Int32Array;
  sections: readonly DriveSection[];
}

/** Way before and after a place over which directions are compared, metres. */
const WINDOWS = [10, 20, 40];
/** A larger change of direction is a turnaround, degrees. */
const TURNAROUND = 120;
/** What lies before and after a turnaround has opposite directions from this difference on, degrees. */
const OPPOSITE = 90;
/** Turnarounds nearer to one another are one, metres. */
const APART = 20;
/** Way between the places that are looked at, metres: a vehicle that stands does not turn. */
const STEP = 1;
/** Time after the last epoch that still belongs to a drive, seconds. */
const AFTER_END = 1e-6;

/**
 * Cuts the drives of a trajectory into sections: a new one begins where the vehicle turned around, in the middle of the turn, or drove
 * back without turning. Bends, crossings, stops and full circles cut nothing. The windows find turns of up to 19 m radius.
 */
export function driveSections({ drives }: Trajectory): DriveSections {
  const sections: DriveSection[] = [];
  let number = 0;
  for (const drive of drives) {
    if (drive.epochs === 0) continue;
    const goesOn = drive.continues !== undefined && sections.length > 0;
    if (!goesOn) number++;
    const before = goesOn ? sections[sections.length - 1].section : 0;
    for (const section of sectionsOf(drive, number, before)) sections.push(section);
  }
  return { ...holdingAt(sections), sections };
}

/** "drive 1, section 2, towards 45°". */
export function sectionLabel({ sections }: DriveSections, value: number): string {
  const found = sections[value - 1];
  if (found === undefined) return 'outside the drives';
  const towards = found.direction === null ? '' : `, towards ${Math.round(found.direction) % 360}°`;
  return `drive ${found.drive}, section ${found.section}${towards}`;
}

/** Places of the vehicle along its way, at least STEP apart: epoch, and metres driven. */
interface Way {
  epoch: number[];
  metres: number[];
}

function wayOf({ x, y, epochs }: Drive): Way {
  const way: Way = { epoch: [0], metres: [0] };
  let last = 0;
  let metres = 0;
  for (let i = 1; i < epochs; i++) {
    const moved = Math.hypot(x[i] - x[last], y[i] - y[last]);
    if (moved < STEP) continue;
    metres += moved;
    way.epoch.push(i);
    way.metres.push(metres);
    last = i;
  }
  return way;
}

function sectionsOf(drive: Drive, number: number, before: number): DriveSection[] {
  const way = wayOf(drive);
  const cuts = turnarounds(drive, way);
  const { time, epochs } = drive;
  const edges = [0, ...cuts, way.epoch.length - 1];
  return edges.slice(1).map((end, k) => ({
    drive: number,
    section: before + k + 1,
    from: time[way.epoch[edges[k]]],
    to: k === cuts.length ? time[epochs - 1] + AFTER_END : time[way.epoch[end]],
    direction: directionBetween(drive, way, edges[k], end),
  }));
}

/** Places in the way at which the direction reverses. */
function turnarounds(drive: Drive, way: Way): number[] {
  const regions: [first: number, last: number][] = [];
  const turning = WINDOWS.map((window) => turnsOver(drive, way, window));
  for (let k = 0; k < way.epoch.length; k++) {
    if (!turning.some((turns) => turns[k] > TURNAROUND)) continue;
    const open = regions.at(-1);
    if (open !== undefined && way.metres[k] - way.metres[open[1]] < APART) open[1] = k;
    else regions.push([k, k]);
  }
  return regions.flatMap(([first, last]) => {
    const into = directionBetween(drive, way, placeBefore(way, first, WINDOWS[1]), first);
    const outOf = directionBetween(drive, way, last, placeAfter(way, last, WINDOWS[1]));
    const reversed = into !== null && outOf !== null && difference(into, outOf) > OPPOSITE;
    return reversed ? [middleOf(way, first, last)] : [];
  });
}

/** By place: how much the direction over the window before it differs from that after it, degrees; 0 near the ends. */
function turnsOver(drive: Drive, way: Way, window: number): Float64Array {
  const turns = new Float64Array(way.epoch.length);
  let behind = 0;
  let ahead = 0;
  for (let k = 0; k < turns.length; k++) {
    while (behind + 1 < k && way.metres[k] - way.metres[behind + 1] >= window) behind++;
    while (ahead + 1 < turns.length && way.metres[ahead] - way.metres[k] < window) ahead++;
    if (behind === k || ahead === k) continue;
    const into = directionBetween(drive, way, behind, k);
    const outOf = directionBetween(drive, way, k, ahead);
    if (into !== null && outOf !== null) turns[k] = difference(into, outOf);
  }
  return turns;
}

function placeBefore({ metres }: Way, from: number, window: number): number {
  let at = from;
  while (at > 0 && metres[from] - metres[at] < window) at--;
  return at;
}

function placeAfter({ metres }: Way, from: number, window: number): number {
  let at = from;
  while (at + 1 < metres.length && metres[at] - metres[from] < window) at++;
  return at;
}

/** The place in the middle of the way between two places. */
function middleOf({ metres }: Way, first: number, last: number): number {
  let at = first;
  while (at < last && metres[at] - metres[first] < metres[last] - metres[at]) at++;
  return at;
}

/** Degrees clockwise from north; null for places at one spot. */
function directionBetween({ x, y }: Drive, { epoch }: Way, a: number, b: number): number | null {
  const [dx, dy] = [x[epoch[b]] - x[epoch[a]], y[epoch[b]] - y[epoch[a]]];
  if (Math.hypot(dx, dy) < STEP / 2) return null;
  return ((Math.atan2(dx, dy) * 180) / Math.PI + 360) % 360;
}

function difference(a: number, b: number): number {
  return 180 - Math.abs(180 - Math.abs(a - b));
}

/** Which section holds when: times that belong to two of them belong to none. */
function holdingAt(sections: readonly DriveSection[]): Pick<DriveSections, 'starts' | 'values'> {
  const times = [...new Set(sections.flatMap(({ from, to }) => [from, to]))].sort((a, b) => a - b);
  const values = times.map((time) => {
    const holding = sections.flatMap(({ from, to }, k) => (time >= from && time < to ? [k + 1] : []));
    return holding.length === 1 ? holding[0] : 0;
  });
  return { starts: Float64Array.from([Number.NEGATIVE_INFINITY, ...times]), values: Int32Array.from([0, ...values]) };
}

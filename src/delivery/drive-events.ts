import { type Drive, NOT_STATED, SOLUTIONS } from './trajectory.js';

/** A time in a drive: GPS seconds as in the cloud. */
export interface DriveSpan {
  from: number;
  to: number;
}

/** Solutions up to this one have no position from satellites. */
const WITHOUT = SOLUTIONS.indexOf('dead-reckoning');
/** Fewer satellites give no position in space. */
const LEAST_SATELLITES = 4;
/** A gap of the rows from this length on is taken as a loss of reception, seconds; shorter outages are none. */
const LEAST_OUTAGE = 2;
/** Outages nearer to one another are one, seconds. */
const APART = 1;

/** Times without position from satellites: by solution, or by the number of satellites where no solution is stated, and gaps of the rows. */
export function outagesOf(drive: Drive): DriveSpan[] {
  const { time, epochs, solution, satellites } = drive;
  const spans: DriveSpan[] = [];
  const put = (from: number, to: number) => {
    const last = spans.at(-1);
    if (last !== undefined && from - last.to < APART) last.to = to;
    else spans.push({ from, to });
  };
  for (let i = 0; i + 1 < epochs; i++) {
    const stated = satellites !== null && satellites[i] !== NOT_STATED;
    const lost = solution !== null ? solution[i] <= WITHOUT : stated && satellites[i] < LEAST_SATELLITES;
    if (lost || time[i + 1] - time[i] >= LEAST_OUTAGE) put(time[i], time[i + 1]);
  }
  return spans.filter(({ from, to }) => to - from >= LEAST_OUTAGE);
}

/** Standing for so long, seconds, within so many metres, aligns the attitude; so does a full circle of so many metres at most. No public rule was found. */
const STAND = 20;
const STILL = 0.5;
const CIRCLE = 330;
const LONGEST_CIRCLE = 120;
/** It ends where it began, within so many metres. */
const BACK = 10;

/** Times in which the attitude can be aligned: the vehicle stood, or drove full circles. In order of time. */
export function alignmentsOf(drive: Drive): DriveSpan[] {
  const spans = [...standsOf(drive), ...circlesOf(drive)].sort((a, b) => a.from - b.from || a.to - b.to);
  const joined: DriveSpan[] = [];
  for (const span of spans) {
    const last = joined.at(-1);
    if (last !== undefined && span.from <= last.to + STAND) last.to = Math.max(last.to, span.to);
    else joined.push({ ...span });
  }
  return joined;
}

function standsOf({ time, x, y, epochs }: Drive): DriveSpan[] {
  const spans: DriveSpan[] = [];
  for (let from = 0; from < epochs; ) {
    let to = from;
    while (to + 1 < epochs && Math.hypot(x[to + 1] - x[from], y[to + 1] - y[from]) < STILL) to++;
    if (time[to] - time[from] >= STAND) spans.push({ from: time[from], to: time[to] });
    from = to + 1;
  }
  return spans;
}

function circlesOf({ time, x, y, epochs }: Drive): DriveSpan[] {
  const spans: DriveSpan[] = [];
  const turned: number[] = [0];
  const at: number[] = [0];
  const metres: number[] = [0];
  let last = 0;
  let before = Number.NaN;
  let first = 0;
  for (let i = 1; i < epochs; i++) {
    const [dx, dy] = [x[i] - x[last], y[i] - y[last]];
    if (Math.hypot(dx, dy) < 1) continue;
    const way = (Math.atan2(dx, dy) * 180) / Math.PI;
    const turn = Number.isNaN(before) ? 0 : ((way - before + 540) % 360) - 180;
    turned.push(turned[turned.length - 1] + turn);
    at.push(i);
    before = way;
    last = i;
    metres.push(metres[metres.length - 1] + Math.hypot(dx, dy));
    while (metres[metres.length - 1] - metres[first] > LONGEST_CIRCLE) first++;
    const now = turned.length - 1;
    for (let k = now; k >= first; k--) {
      const back = Math.hypot(x[i] - x[at[k]], y[i] - y[at[k]]);
      if (Math.abs(turned[now] - turned[k]) < CIRCLE || back > BACK) continue;
      spans.push({ from: time[at[k]], to: time[i] });
      first = now;
      break;
    }
  }
  return spans;
}

import type { PointBatch } from '../../cloud/columns.js';
import type { MeasuredBatch } from '../contract/measurement.js';

/** Kinds of codes that can be counted. Flags are counted always. */
export type Attribute = 'class' | 'returns' | 'angle' | 'source' | 'time' | 'intensity' | 'colour' | 'place';

/**
 * Places in the table of codes. A point adds one to one place of every attribute asked for: so counting costs one addition
 * an attribute, and any rule on any attribute can be judged later.
 */
export const Code = {
  /** + class, 0 to 255. */
  class: 0,
  /** + return number + 16 x number of returns. */
  returns: 256,
  /** + whole degrees from the nadir, rounded up, 0 to 199. */
  angle: 512,
  sourceZero: 712,
  /** GPS time 0 or not a number. */
  timeMissing: 713,
  /** Above 0, up to 604,800: seconds of a week, 7 x 86,400. */
  timeOfWeek: 714,
  /** Above 604,800. */
  timeLater: 715,
  /** Below 0, not below -1e9. */
  timeNegative: 716,
  /** Below -1e9: before GPS time began, even as standard time minus 1e9. */
  timeImpossible: 717,
  colourBlack: 718,
  placeOutside: 719,
  /** + flags as in Flag, 0 to 63; withheld points are counted here, and only here. */
  flags: 720,
  end: 784,
} as const;

const WEEK_SECONDS = 604_800;
const GPS_EPOCH_AS_STORED = -1e9;

/** What one file's points are labelled with. */
export interface CodeTally {
  points: number;
  counts: Float64Array;
  /** Ordinal of the first point of each code; Infinity when there is none. */
  first: Float64Array;
  /** Its place: x, y, z in quanta. */
  places: Float64Array;
  /** Intensity min, max; colour max; time min, max. */
  extremes: Float64Array;
}

export const EXTREMES = 5;

/** An empty tally: every count 0. */
export function createTally(): CodeTally {
  const [low, high] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  return {
    points: 0,
    counts: new Float64Array(Code.end),
    first: new Float64Array(Code.end).fill(low),
    places: new Float64Array(Code.end * 3),
    extremes: Float64Array.of(low, high, high, low, high),
  };
}

/** Which points of a batch count; null: all of them. */
export interface Marks {
  /** For flags: withheld points too. */
  all: Uint8Array | null;
  marked: Uint8Array | null;
  /** For `place`: 1 where a marked point is inside its area; null when there is no area. */
  inArea: Uint8Array | null;
  wholeDegrees: boolean;
}

// Scratch of this thread: counts of one batch, and the code of each point where first places are looked for.
const hits = new Uint32Array(Code.end);
let codes = new Uint16Array(0);

/**
 * Adds the points of a batch to the tally. Counts first, in one short loop for each attribute; places only where a code is
 * new to the tally.
 */
export function addAttributes(
  tally: CodeTally,
  batch: MeasuredBatch,
  asked: ReadonlySet<Attribute>,
  marks: Marks,
): void {
  const { points, count } = batch;
  const { marked } = marks;
  if (codes.length < count) codes = new Uint16Array(count);
  tally.points += marked === null ? count : sumOf(marked, count);
  countBytes(points.flags, 63, Code.flags, count, marks.all);
  settle(tally, batch, marks.all, Code.flags, Code.end, () => codesOfFlags(points, count));
  if (asked.has('class')) {
    countBytes(points.classification, 255, Code.class, count, marked);
    settle(tally, batch, marked, Code.class, Code.returns, () => codesOfClasses(points, count));
  }
  if (asked.has('returns')) {
    countReturns(points, count, marked);
    settle(tally, batch, marked, Code.returns, Code.angle, () => codesOfReturns(points, count));
  }
  if (asked.has('angle')) {
    const bins = marks.wholeDegrees ? WHOLE_DEGREES : FINE_DEGREES;
    countAngles(points.scanAngle, bins, count, marked);
    settle(tally, batch, marked, Code.angle, Code.sourceZero, () => codesOfAngles(points, bins, count));
  }
  if (asked.has('source')) {
    countSources(points.pointSourceId, count, marked);
    settle(tally, batch, marked, Code.sourceZero, Code.timeMissing, () => codesOfSources(points, count));
  }
  if (asked.has('time') && points.has.has('gpsTime')) {
    countTimes(tally.extremes, points.gpsTime, count, marked);
    settle(tally, batch, marked, Code.timeMissing, Code.colourBlack, () => codesOfTimes(points, count));
  }
  if (asked.has('intensity')) widenIntensity(tally.extremes, points.intensity, count, marked);
  if (asked.has('colour') && points.has.has('colour')) {
    countColours(tally.extremes, points, count, marked);
    settle(tally, batch, marked, Code.colourBlack, Code.placeOutside, () => codesOfColours(points, count));
  }
  if (asked.has('place') && marks.inArea) {
    const { inArea } = marks;
    for (let i = 0; i < count; i++) codes[i] = inArea[i] === 1 ? Code.end : Code.placeOutside;
    for (let i = 0; i < count; i++) if (codes[i] !== Code.end && (marked === null || marked[i] === 1)) hits[codes[i]]++;
    settle(tally, batch, marked, Code.placeOutside, Code.flags, () => {});
  }
}

function sumOf(marked: Uint8Array, count: number): number {
  let sum = 0;
  for (let i = 0; i < count; i++) sum += marked[i];
  return sum;
}

/**
 * Moves the counts of codes `begin` to `end` from the scratch to the tally. Where one of them comes earlier in the file
 * than any before, `fill` writes the code of every point, and the first place is looked for.
 */
function settle(
  tally: CodeTally,
  batch: MeasuredBatch,
  marked: Uint8Array | null,
  begin: number,
  end: number,
  fill: () => void,
): void {
  const at = batch.points.first;
  let earlier = false;
  for (let c = begin; c < end; c++) {
    if (hits[c] === 0) continue;
    tally.counts[c] += hits[c];
    hits[c] = 0;
    if (at < tally.first[c]) earlier = true;
  }
  if (!earlier) return;
  fill();
  for (let i = 0; i < batch.count; i++) {
    const c = codes[i];
    if (c === Code.end || (marked !== null && marked[i] === 0) || at + i >= tally.first[c]) continue;
    tally.first[c] = at + i;
    tally.places[c * 3] = batch.east[i];
    tally.places[c * 3 + 1] = batch.north[i];
    tally.places[c * 3 + 2] = batch.up[i];
  }
}

/** Neighbours mostly have the same value: adding whole runs spares a write a point. */
function countBytes(values: Uint8Array, mask: number, base: number, count: number, marked: Uint8Array | null): void {
  if (marked !== null) {
    for (let i = 0; i < count; i++) hits[base + (values[i] & mask)] += marked[i];
    return;
  }
  let run = values[0];
  let since = 0;
  for (let i = 1; i < count; i++) {
    if (values[i] === run) continue;
    hits[base + (run & mask)] += i - since;
    run = values[i];
    since = i;
  }
  hits[base + (run & mask)] += count - since;
}

function countReturns({ returnNumber, returnCount }: PointBatch, count: number, marked: Uint8Array | null): void {
  if (marked !== null) {
    for (let i = 0; i < count; i++)
      hits[Code.returns + ((returnNumber[i] & 15) | ((returnCount[i] & 15) << 4))] += marked[i];
    return;
  }
  let run = (returnNumber[0] & 15) | ((returnCount[0] & 15) << 4);
  let since = 0;
  for (let i = 1; i < count; i++) {
    const code = (returnNumber[i] & 15) | ((returnCount[i] & 15) << 4);
    if (code === run) continue;
    hits[Code.returns + run] += i - since;
    run = code;
    since = i;
  }
  hits[Code.returns + run] += count - since;
}

/** Raw scan angle + 32768 -> code. A step is 0.006 degree, so whole numbers decide at whole degrees. */
const FINE_DEGREES = Uint16Array.from(
  { length: 65_536 },
  (_, k) => Code.angle + Math.ceil((Math.abs(k - 32_768) * 6) / 1000),
);
const WHOLE_DEGREES = Uint16Array.from({ length: 65_536 }, (_, k) => Code.angle + Math.min(199, Math.abs(k - 32_768)));

function countAngles(angles: Int16Array, bins: Uint16Array, count: number, marked: Uint8Array | null): void {
  if (marked !== null) {
    for (let i = 0; i < count; i++) hits[bins[angles[i] + 32_768]] += marked[i];
    return;
  }
  let run = bins[angles[0] + 32_768];
  let since = 0;
  for (let i = 1; i < count; i++) {
    const code = bins[angles[i] + 32_768];
    if (code === run) continue;
    hits[run] += i - since;
    run = code;
    since = i;
  }
  hits[run] += count - since;
}

function countSources(sources: Uint16Array, count: number, marked: Uint8Array | null): void {
  let zeros = 0;
  for (let i = 0; i < count; i++) if (sources[i] === 0 && (marked === null || marked[i] === 1)) zeros++;
  hits[Code.sourceZero] += zeros;
}

function kindOfTime(t: number): number {
  if (t > WEEK_SECONDS && t < Number.POSITIVE_INFINITY) return Code.timeLater;
  if (t > 0 && t <= WEEK_SECONDS) return Code.timeOfWeek;
  if (t < 0 && t >= GPS_EPOCH_AS_STORED) return Code.timeNegative;
  if (t < GPS_EPOCH_AS_STORED && t > Number.NEGATIVE_INFINITY) return Code.timeImpossible;
  return Code.timeMissing;
}

/** Where all times of a batch are of one kind, their extremes show which. */
function countTimes(extremes: Float64Array, times: Float64Array, count: number, marked: Uint8Array | null): void {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let sound = marked === null;
  for (let i = 0; i < count && sound; i++) {
    const t = times[i];
    sound = t > 0;
    if (t < low) low = t;
    if (t > high) high = t;
  }
  if (sound && kindOfTime(low) === kindOfTime(high)) hits[kindOfTime(low)] += count;
  else {
    low = Number.POSITIVE_INFINITY;
    high = Number.NEGATIVE_INFINITY;
    for (let i = 0; i < count; i++) {
      if (marked !== null && marked[i] === 0) continue;
      const t = times[i];
      const kind = kindOfTime(t);
      hits[kind]++;
      if (kind === Code.timeMissing) continue;
      if (t < low) low = t;
      if (t > high) high = t;
    }
  }
  if (low < extremes[3]) extremes[3] = low;
  if (high > extremes[4]) extremes[4] = high;
}

function widenIntensity(extremes: Float64Array, values: Uint16Array, count: number, marked: Uint8Array | null): void {
  let low = 65_536;
  let high = -1;
  for (let i = 0; i < count; i++) {
    if (marked !== null && marked[i] === 0) continue;
    const v = values[i];
    if (v < low) low = v;
    if (v > high) high = v;
  }
  if (high < 0) return;
  if (low < extremes[0]) extremes[0] = low;
  if (high > extremes[1]) extremes[1] = high;
}

function countColours(
  extremes: Float64Array,
  { red, green, blue }: PointBatch,
  count: number,
  marked: Uint8Array | null,
): void {
  let high = -1;
  let black = 0;
  for (let i = 0; i < count; i++) {
    if (marked !== null && marked[i] === 0) continue;
    const r = red[i];
    const g = green[i];
    const b = blue[i];
    if ((r | g | b) === 0) black++;
    if (r > high) high = r;
    if (g > high) high = g;
    if (b > high) high = b;
  }
  hits[Code.colourBlack] += black;
  if (high > extremes[2]) extremes[2] = high;
}

// The code of every point, for looking up first places; Code.end: none.

function codesOfFlags({ flags }: PointBatch, count: number): void {
  for (let i = 0; i < count; i++) codes[i] = Code.flags + (flags[i] & 63);
}

function codesOfClasses({ classification }: PointBatch, count: number): void {
  for (let i = 0; i < count; i++) codes[i] = Code.class + classification[i];
}

function codesOfReturns({ returnNumber, returnCount }: PointBatch, count: number): void {
  for (let i = 0; i < count; i++) codes[i] = Code.returns + ((returnNumber[i] & 15) | ((returnCount[i] & 15) << 4));
}

function codesOfAngles({ scanAngle }: PointBatch, bins: Uint16Array, count: number): void {
  for (let i = 0; i < count; i++) codes[i] = bins[scanAngle[i] + 32_768];
}

function codesOfSources({ pointSourceId }: PointBatch, count: number): void {
  for (let i = 0; i < count; i++) codes[i] = pointSourceId[i] === 0 ? Code.sourceZero : Code.end;
}

function codesOfTimes({ gpsTime }: PointBatch, count: number): void {
  for (let i = 0; i < count; i++) codes[i] = kindOfTime(gpsTime[i]);
}

function codesOfColours({ red, green, blue }: PointBatch, count: number): void {
  for (let i = 0; i < count; i++) codes[i] = (red[i] | green[i] | blue[i]) === 0 ? Code.colourBlack : Code.end;
}

import { fitLine, fitStep, type LineFit, type StepFit } from '../../geometry/line-fit.js';
import { median, nmad } from '../../geometry/statistics.js';
import type { PassPair } from '../pass-pairs.js';
import { type PassTimes, type Sighting, sightingsOf } from '../pass-times.js';

/** How pass differences are grouped along GPS time. */
export interface DriftOptions {
  /** Seconds a bin of GPS time. */
  bin: number;
  /** Level cells a bin must hold against another pass. */
  minCells: number;
  /** Seconds over which a slope is taken, and the least over which one is determined. */
  window: number;
  minSeconds: number;
}

/** One pass against the others along its GPS time. Metres and seconds. */
export interface PassDrift {
  pass: number;
  /** Passes it was compared with. */
  others: number[];
  /** Earliest GPS time at which it was compared. */
  begin: number;
  /** Begin of each bin, the horizontal middle of the compared cells, offset from the others, standard deviation, cells. */
  time: Float64Array;
  x: Float64Array;
  y: Float64Array;
  offset: Float64Array;
  std: Float64Array;
  cells: Float64Array;
  /** The bin whose offset is largest. */
  worst: number;
  /** Steepest slope over a window, metres a second; null when no part is long enough to determine one. */
  slope: { from: number; to: number; slope: number; std: number } | null;
  /** Largest step between bins, whether or not it is significant; null where there are too few bins. */
  step: DriftStep | null;
  /** Steps that stand out of the noise, in order of time. */
  steps: DriftStep[];
}

/** A step of the height differences along GPS time. */
export interface DriftStep {
  /** Time of the step, seconds; where time has a gap, its end. */
  at: number;
  /** Seconds without a comparison at the step: 0 when the bins follow one another. */
  gap: number;
  /** After minus before, metres. */
  step: number;
  std: number;
}

/** Bins on each side from which a step is worked out. */
const STEP_BINS = 5;
/** A step is significant at this many standard deviations, and never under so many metres. */
const STEP_SIGNIFICANCE = 5;
const LEAST_STEP = 0.002;
/** Bins from which a slope is fitted. */
const SLOPE_BINS = 5;

/**
 * Each pass against the others along GPS time, from the height differences of its pairs: in every bin of time the median
 * difference against each other pass, of these the median over the other passes; then slopes and steps of that line.
 * Passes in `without` are neither judged nor compared with.
 */
export function driftOfPasses(
  pairs: readonly PassPair[],
  times: PassTimes,
  options: DriftOptions,
  without: ReadonlySet<number> = new Set(),
): PassDrift[] {
  const bins = new Map<number, Map<number, Bin>>();
  for (const pair of pairs) {
    if (without.has(pair.a) || without.has(pair.b)) continue;
    collect(bins, pair, pair.a, pair.b, -1, times, options.bin);
    collect(bins, pair, pair.b, pair.a, 1, times, options.bin);
  }
  return [...bins.keys()]
    .sort((a, b) => a - b)
    .map((pass) => describe(pass, bins.get(pass)!, options))
    .filter((drift) => drift !== null);
}

/** Differences of one pass in one bin of time, by the other pass. */
interface Bin {
  earliest: number;
  x: number;
  y: number;
  cells: number;
  byOther: Map<number, number[]>;
}

function collect(
  bins: Map<number, Map<number, Bin>>,
  { map }: PassPair,
  pass: number,
  other: number,
  sign: number,
  times: PassTimes,
  seconds: number,
): void {
  const sighting: Sighting = { middle: 0, duration: 0 };
  const see = sightingsOf(times, pass);
  let held = 0;
  let bin: Bin | null = null;
  let differences: number[] = [];
  for (let i = 0; i < map.dz.length; i++) {
    see(map.x[i], map.y[i], sighting);
    // Seen for longer, or twice, or from a standing vehicle: it belongs to no moment. NaN: the pass has no time there.
    if (!(sighting.duration <= seconds)) continue;
    const key = Math.floor(sighting.middle / seconds);
    // Neighbouring cells mostly have points of the same seconds.
    if (bin === null || key !== held) {
      held = key;
      bin = binOf(bins, pass, key, sighting.middle);
      differences = differencesTo(bin, other);
    }
    bin.earliest = Math.min(bin.earliest, sighting.middle);
    bin.cells++;
    bin.x += map.x[i];
    bin.y += map.y[i];
    differences.push(sign * map.dz[i]);
  }
}

function binOf(bins: Map<number, Map<number, Bin>>, pass: number, key: number, earliest: number): Bin {
  let ofPass = bins.get(pass);
  if (!ofPass) {
    ofPass = new Map();
    bins.set(pass, ofPass);
  }
  let bin = ofPass.get(key);
  if (!bin) {
    bin = { earliest, x: 0, y: 0, cells: 0, byOther: new Map() };
    ofPass.set(key, bin);
  }
  return bin;
}

function differencesTo({ byOther }: Bin, other: number): number[] {
  const known = byOther.get(other) ?? [];
  byOther.set(other, known);
  return known;
}

function describe(pass: number, bins: Map<number, Bin>, options: DriftOptions): PassDrift | null {
  const others = new Set<number>();
  const rows: { time: number; x: number; y: number; offset: number; std: number; cells: number }[] = [];
  let begin = Number.POSITIVE_INFINITY;
  for (const key of [...bins.keys()].sort((a, b) => a - b)) {
    const bin = bins.get(key)!;
    const lists = [...bin.byOther.entries()].filter(([, list]) => list.length >= options.minCells);
    if (lists.length === 0) continue;
    for (const [other] of lists) others.add(other);
    begin = Math.min(begin, bin.earliest);
    // Standard deviation of a median: sqrt(pi / 2) of that of a mean.
    const variances = lists.map(([, list]) => ((Math.PI / 2) * nmad(list) ** 2) / list.length);
    rows.push({
      time: key * options.bin,
      x: bin.x / bin.cells,
      y: bin.y / bin.cells,
      offset: median(lists.map(([, list]) => median(list))),
      std: Math.sqrt(variances.reduce((sum, v) => sum + v, 0)) / lists.length,
      cells: lists.reduce((sum, [, list]) => sum + list.length, 0),
    });
  }
  if (rows.length === 0) return null;
  const pick = (key: keyof (typeof rows)[number]) => Float64Array.from(rows, (row) => row[key]);
  const time = pick('time');
  const offset = pick('offset');
  const cells = pick('cells');
  const candidates = findSteps(time, offset, options.bin);
  const steps = significantSteps(candidates);
  return {
    pass,
    others: [...others].sort((a, b) => a - b),
    begin,
    time,
    x: pick('x'),
    y: pick('y'),
    offset,
    std: pick('std'),
    cells,
    worst: largestAt(offset),
    slope: steepest(time, offset, cells, steps, options),
    step: largestStep(candidates),
    steps,
  };
}

function largestAt(values: Float64Array): number {
  let at = 0;
  for (let i = 1; i < values.length; i++) if (Math.abs(values[i]) > Math.abs(values[at])) at = i;
  return at;
}

interface Candidate extends DriftStep {
  /** Bin of the step, or the first one after a gap. */
  index: number;
  /** Whether the change happened within the bin or the gap; a smooth rise over several bins is a drift. */
  sudden: boolean;
}

/** Share of a step that lies between the bins on either side of its own. */
const SUDDEN_SHARE = 0.7;

/** Whether most of the step lies between the neighbours of bin i. */
function isSudden(offset: Float64Array, i: number, { step, slope }: StepFit, bin: number): boolean {
  const change = offset[i + 1] - offset[i - 1] - 2 * slope * bin;
  return change / step >= SUDDEN_SHARE;
}

/** A step tried at every bin (which may itself hold it) and at every gap of time. */
function findSteps(time: Float64Array, offset: Float64Array, bin: number): Candidate[] {
  // Gaps are closed up for the lines: a drift during the gap is part of the step.
  const order = Float64Array.from(time, (_, i) => i * bin);
  const n = time.length;
  const found: Candidate[] = [];
  for (let i = 0; i < n; i++) {
    const gap = i > 0 ? time[i] - time[i - 1] - bin : 0;
    const jump = gap > bin / 2;
    const after = jump ? i : i + 1;
    const from = Math.max(0, i - STEP_BINS);
    const fit = fitStep(order, offset, from, i, after, Math.min(n, after + STEP_BINS));
    if (!fit) continue;
    const { step, std } = fit;
    const sudden = jump || isSudden(offset, i, fit, bin);
    found.push({ index: i, at: jump ? time[i] : time[i] + bin / 2, gap: jump ? gap : 0, step, std, sudden });
  }
  return found;
}

/** The largest sudden step; where nothing is sudden, the largest of all; null without candidates. */
function largestStep(candidates: readonly Candidate[]): DriftStep | null {
  const sudden = candidates.filter((c) => c.sudden);
  const some = sudden.length > 0 ? sudden : candidates;
  return some.length > 0 ? some[largestAt(Float64Array.from(some, (c) => c.step))] : null;
}

/** Largest first; of steps that share bins only the largest is kept, and a gap of time beside it is where it happened. */
function significantSteps(candidates: readonly Candidate[]): DriftStep[] {
  const chosen: Candidate[] = [];
  const standing = candidates.filter(
    (c) => c.sudden && Math.abs(c.step) > Math.max(STEP_SIGNIFICANCE * c.std, LEAST_STEP),
  );
  standing.sort((a, b) => Math.abs(b.step) - Math.abs(a.step) || a.at - b.at);
  for (const c of standing) {
    if (chosen.some((other) => Math.abs(other.index - c.index) <= STEP_BINS)) continue;
    const gap = standing.find((other) => other.gap > 0 && Math.abs(other.index - c.index) <= 1);
    chosen.push(gap ?? c);
  }
  return chosen.sort((a, b) => a.at - b.at);
}

/** Steepest line over windows of time that hold no step. */
function steepest(
  time: Float64Array,
  offset: Float64Array,
  weight: Float64Array,
  steps: readonly DriftStep[],
  { bin, window, minSeconds }: DriftOptions,
): PassDrift['slope'] {
  let best: PassDrift['slope'] = null;
  for (const [begin, end] of piecesOf(time, steps, bin)) {
    for (let from = begin; from < end; from++) {
      let to = from;
      while (to < end && time[to] - time[from] < window) to++;
      const seconds = time[to - 1] - time[from] + bin;
      // What is too short before a gap of time does not show what follows it.
      if (to - from < SLOPE_BINS || seconds < minSeconds) {
        if (to === end) break;
        continue;
      }
      const fit: LineFit | null = fitLine(time, offset, weight, from, to);
      if (fit && (best === null || Math.abs(fit.slope) > Math.abs(best.slope)))
        best = { from: time[from], to: time[to - 1] + bin, slope: fit.slope, std: fit.slopeStd };
      if (to === end) break;
    }
  }
  return best;
}

/** Index ranges between steps; the bin in which a step lies belongs to neither side. */
function piecesOf(time: Float64Array, steps: readonly DriftStep[], bin: number): [number, number][] {
  const pieces: [number, number][] = [];
  let from = 0;
  for (const { at, gap } of steps) {
    let to = from;
    while (to < time.length && time[to] + (gap > 0 ? 0 : bin) <= at) to++;
    pieces.push([from, to]);
    from = to;
    while (from < time.length && time[from] < at && gap === 0) from++;
  }
  pieces.push([from, time.length]);
  return pieces;
}

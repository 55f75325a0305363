import { exactSum } from './compensated-arithmetic.js';
import { selectRank } from './ranking.js';
import { Scratch } from './scratch.js';

/**
 * Statistics of residuals and the like, in the unit of the values.
 *
 * Every function throws RangeError for a value that is not finite (NaN, infinity), because a figure that ignores values or
 * becomes NaN must not reach a signed report. Too few values are a RangeError in the single functions; `summary` returns
 * `null` instead. Every figure is bit-identical for any order of the values.
 */
export type Values = ArrayLike<number>;

/** Makes the MAD of normal values estimate their standard deviation: 1 / z(0.75) = 1.482602, by custom 1.4826. */
export const NMAD_FACTOR = 1.4826;

/** Arithmetic mean. Throws RangeError for no values. */
export function mean(values: Values): number {
  const n = countOf(values, 1, 'mean');
  return exactSum(n, (i) => values[i]) / n;
}

/**
 * Standard deviation about the mean, divisor n - 1. Two passes with the correction for the rounded mean (Chan, Golub &
 * LeVeque 1983), so that values of 10^7 m with millimetre scatter survive. Throws RangeError for fewer than two values.
 */
export function standardDeviation(values: Values): number {
  const n = countOf(values, 2, 'standard deviation');
  return Math.sqrt(sumOfSquaredDeviations(values, n, mean(values)) / (n - 1));
}

/** Root of the mean of the squares, divisor n: sqrt(sum(v^2) / n). Throws RangeError for no values. */
export function rmse(values: Values): number {
  const n = countOf(values, 1, 'RMSE');
  return Math.sqrt(exactSum(n, (i) => values[i] * values[i]) / n);
}

/** Smallest value. Throws RangeError for no values. */
export function min(values: Values): number {
  countOf(values, 1, 'minimum');
  return least(values, 0);
}

/** Smallest value from place `from` on, where there is one. */
function least(values: Values, from: number): number {
  let found = values[from];
  for (let i = from + 1; i < values.length; i++) if (values[i] < found) found = values[i];
  return found;
}

/** Largest value. Throws RangeError for no values. */
export function max(values: Values): number {
  const n = countOf(values, 1, 'maximum');
  let most = values[0];
  for (let i = 1; i < n; i++) if (values[i] > most) most = values[i];
  return most;
}

/** Middle value; the mean of the two middle ones when their number is even. Throws RangeError for no values. */
export function median(values: Values): number {
  return middleOf(copyOf(values, 'median'));
}

/**
 * Percentile by linear interpolation between order statistics at rank (n - 1) * percent / 100 (type 7 of Hyndman & Fan
 * 1996, the default of R and of spreadsheets). `percent` from 0 to 100. Throws RangeError outside, or for no values.
 */
export function percentile(values: Values, percent: number): number {
  if (!(percent >= 0 && percent <= 100)) throw new RangeError(`a percentile lies from 0 to 100, not ${percent}`);
  const copy = copyOf(values, 'percentile');
  const rank = ((copy.length - 1) * percent) / 100;
  const below = Math.floor(rank);
  const low = selectRank(copy, below);
  // Values of higher rank are now behind it.
  return rank === below ? low : low + (rank - below) * (least(copy, below + 1) - low);
}

/**
 * Normalised median absolute deviation, 1.4826 * median(|v - median(v)|): a standard deviation that outliers do not move
 * (Hoehle & Hoehle 2009, ISPRS Journal 64(4)). Throws RangeError for no values.
 */
export function nmad(values: Values): number {
  return medianAndNmad(values).nmad;
}

/** Both at once. Throws RangeError for no values. */
export function medianAndNmad(values: Values): { median: number; nmad: number } {
  const scratch = copyOf(values, 'NMAD');
  const middle = middleOf(scratch);
  for (let i = 0; i < scratch.length; i++) scratch[i] = Math.abs(scratch[i] - middle);
  return { median: middle, nmad: NMAD_FACTOR * middleOf(scratch) };
}

const scratch = new Scratch();

/**
 * A copy of at least one finite value, valid until the next copy. -0 becomes +0, so that the result does not depend on the
 * order of equal values.
 */
function copyOf(values: Values, what: string): Float64Array {
  const copy = scratch.take(atLeast(values, 1, what));
  for (let i = 0; i < copy.length; i++) {
    if (!Number.isFinite(values[i])) throw notFinite(values, i, what);
    copy[i] = values[i] + 0;
  }
  return copy;
}

/** The median of values that may be put into another order: the same value as by sorting, in a fraction of the time. */
function middleOf(values: Float64Array): number {
  const half = values.length >> 1;
  const upper = selectRank(values, half);
  if (values.length % 2 === 1) return upper;
  // Ranks below `half` are before it now.
  let lower = values[0];
  for (let i = 1; i < half; i++) if (values[i] > lower) lower = values[i];
  return (lower + upper) / 2;
}

/**
 * Sample skewness G1, the adjusted Fisher-Pearson coefficient: n / ((n-1)(n-2)) * sum(((v - mean) / s)^3). `null` for
 * fewer than three values or values that do not differ.
 */
export function skewness(values: Values): number | null {
  const n = countOf(values, 0, 'skewness');
  if (n < 3) return null;
  const centre = mean(values);
  const s = standardDeviation(values);
  if (s === 0) return null;
  return (n / ((n - 1) * (n - 2))) * exactSum(n, (i) => ((values[i] - centre) / s) ** 3);
}

/**
 * Sample excess kurtosis G2 (0 for a normal distribution):
 * n(n+1) / ((n-1)(n-2)(n-3)) * sum(((v - mean) / s)^4) - 3(n-1)^2 / ((n-2)(n-3)). `null` for fewer than four values or
 * values that do not differ.
 */
export function kurtosis(values: Values): number | null {
  const n = countOf(values, 0, 'kurtosis');
  if (n < 4) return null;
  const centre = mean(values);
  const s = standardDeviation(values);
  if (s === 0) return null;
  const fourths = exactSum(n, (i) => ((values[i] - centre) / s) ** 4);
  return ((n * (n + 1)) / ((n - 1) * (n - 2) * (n - 3))) * fourths - (3 * (n - 1) * (n - 1)) / ((n - 2) * (n - 3));
}

/** The figures of an accuracy statement; `null` where there are too few values. */
export interface Summary {
  n: number;
  mean: number | null;
  median: number | null;
  /** Divisor n - 1. */
  standardDeviation: number | null;
  /** Divisor n. */
  rmse: number | null;
  nmad: number | null;
  /** 95th percentile (type 7) of the absolute values. */
  p95Absolute: number | null;
  min: number | null;
  max: number | null;
  skewness: number | null;
  kurtosis: number | null;
}

/** All figures of Summary at once. Throws RangeError only for a value that is not finite. */
export function summary(values: Values): Summary {
  const n = countOf(values, 0, 'summary');
  const some = n > 0;
  return {
    n,
    mean: some ? mean(values) : null,
    median: some ? median(values) : null,
    standardDeviation: n > 1 ? standardDeviation(values) : null,
    rmse: some ? rmse(values) : null,
    nmad: some ? nmad(values) : null,
    p95Absolute: some ? percentile(Float64Array.from(values, Math.abs), 95) : null,
    min: some ? min(values) : null,
    max: some ? max(values) : null,
    skewness: skewness(values),
    kurtosis: kurtosis(values),
  };
}

/** Median of values already sorted upwards, not checked. */
export function medianOfSorted(sorted: Values): number {
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half] : (sorted[half - 1] + sorted[half]) / 2;
}

/** Percentile (type 7, `percent` 0 to 100) of values already sorted upwards, not checked. */
export function percentileOfSorted(sorted: Values, percent: number): number {
  const rank = ((sorted.length - 1) * percent) / 100;
  const below = Math.floor(rank);
  const low = sorted[below];
  if (rank === below) return low;
  return low + (rank - below) * (sorted[below + 1] - low);
}

function sumOfSquaredDeviations(values: Values, n: number, centre: number): number {
  const squares = exactSum(n, (i) => (values[i] - centre) * (values[i] - centre));
  const rest = exactSum(n, (i) => values[i] - centre);
  return Math.max(0, squares - (rest * rest) / n);
}

function countOf(values: Values, least: number, what: string): number {
  const n = atLeast(values, least, what);
  for (let i = 0; i < n; i++) if (!Number.isFinite(values[i])) throw notFinite(values, i, what);
  return n;
}

function atLeast(values: Values, least: number, what: string): number {
  if (values.length >= least) return values.length;
  throw new RangeError(`${what} needs ${least} or more values, there are ${values.length}`);
}

function notFinite(values: Values, i: number, what: string): RangeError {
  return new RangeError(`${what} of finite numbers only; value ${i} is ${values[i]}`);
}

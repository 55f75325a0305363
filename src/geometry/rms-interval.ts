import { exactSum } from './compensated-arithmetic.js';
import { type Interval, rmseInterval, rmseLowerBound, rmseUpperBound } from './distributions.js';
import { logGamma } from './special-functions.js';
import { rmse, type Values } from './statistics.js';

/** What lies behind an interval of an RMS: errors that are normal, or errors whose heavy tails are not ruled out. */
type ErrorLaw = 'normal' | 'heavy-tailed';

/** Bounds of an RMS as multiples of the RMS found. */
export interface RmsBounds {
  law: ErrorLaw;
  /**
   * Probability that the errors are normal, when normal and heavy-tailed errors are equally likely before they are seen; null where no error
   * differs from zero.
   */
  normalErrors: number | null;
  /** Two-sided 95 % interval. */
  interval: Interval;
  /** One-sided bounds: the RMS is above `low` with a probability of 95 %, and below `high` with one of 95 %. */
  oneSided: Interval;
}

/** Degrees of freedom of the Student t distributions that stand for heavy tails, all equally likely. */
const TAILS = [8, 5, 4, 3];

/** A Bayes factor above 3 is positive evidence (Kass & Raftery 1995, Journal of the American Statistical Association 90). */
const NORMAL_FROM = 3 / 4;

/**
 * Bounds of the RMS of errors about zero, from the errors of each axis (one axis, or several of equal length).
 *
 * Normal errors: chi-square with the degrees of freedom of Satterthwaite (1946). They are supposed only where the errors themselves are
 * positive evidence for it. Otherwise the RMS has the posterior distribution of an average over normal errors and Student t errors of the same RMS
 * (Bayesian model averaging; t errors as in Geweke 1993, Journal of Applied Econometrics 8), every value of its logarithm equally likely before;
 * the upper bound is at least that of chi-square with the degrees of freedom of the fourth moment, the one-sided lower bound at most that of normal
 * errors, and the interval contains the RMS itself.
 * This combination, its tails and their weights were chosen and simulated here: tests/proof/intervals.js.
 * @throws RangeError for no errors, axes of unequal length, or an error that is not finite
 */
export function rmsBounds(axes: readonly Values[]): RmsBounds {
  const n = axes[0].length;
  if (axes.some(({ length }) => length !== n)) throw new RangeError('axes have unequal numbers of errors');
  const spreads = axes.map((axis) => rmse(axis));
  const freedom = effectiveFreedom(spreads, n);
  const normal = chiSquareBounds(freedom, freedom);
  const moving = axes.flatMap((axis, k) => (spreads[k] > 0 ? [{ axis, spread: spreads[k] }] : []));
  if (moving.length === 0) return { law: 'normal', normalErrors: null, ...normal };
  // Squared errors in units of the RMS of their axis, in ascending order: the same bits whatever the order of the points.
  const squares = Float64Array.from({ length: n }, (_, i) =>
    exactSum(moving.length, (k) => (moving[k].axis[i] / moving[k].spread) ** 2),
  ).sort();
  const posterior = rmsPosterior(squares, moving.length);
  const { normalErrors } = posterior;
  if (normalErrors > NORMAL_FROM) return { law: 'normal', normalErrors, ...normal };
  const fourth = chiSquareBounds(freedom, Math.min(freedom, momentFreedom(axes)));
  // Axes of unequal accuracy have fewer degrees of freedom than the posterior counts.
  const power = Math.sqrt((n * moving.length) / freedom);
  const bounds = (tail: number, highest: number, lowest: number): Interval => ({
    low: Math.min(lowest, posterior.quantile(tail) ** power),
    high: Math.max(highest, posterior.quantile(1 - tail) ** power),
  });
  return {
    law: 'heavy-tailed',
    normalErrors,
    interval: bounds(0.025, fourth.interval.high, 1),
    oneSided: bounds(0.05, fourth.oneSided.high, normal.oneSided.low),
  };
}

/**
 * Degrees of freedom of a sum of squares whose components have these RMSE at n points each (Satterthwaite 1946):
 * n (sum s^2)^2 / sum s^4: n times the number of components when they are alike, n when one outweighs the others.
 */
export function effectiveFreedom(components: readonly number[], n: number): number {
  let squares = 0;
  let fourths = 0;
  for (const s of components) {
    squares += s * s;
    fourths += s ** 4;
  }
  return fourths > 0 ? (n * squares * squares) / fourths : n * components.length;
}

/**
 * Degrees of freedom of a mean of squares s from the variance of these squares: 2 n mean(s)^2 / (mean(s^2) - mean(s)^2), n for one axis of normal
 * errors and fewer where tails are heavy. Infinite where all squares are alike.
 */
export function momentFreedom(axes: readonly Values[]): number {
  const n = axes[0].length;
  const square = (i: number) => exactSum(axes.length, (k) => axes[k][i] ** 2);
  const mean = exactSum(n, square) / n;
  const variance = exactSum(n, (i) => (square(i) - mean) ** 2) / n;
  return variance > 0 ? (2 * n * mean * mean) / variance : Number.POSITIVE_INFINITY;
}

function chiSquareBounds(lowFreedom: number, highFreedom: number): { interval: Interval; oneSided: Interval } {
  return {
    interval: { low: rmseInterval(1, lowFreedom).low, high: rmseInterval(1, highFreedom).high },
    oneSided: { low: rmseLowerBound(1, lowFreedom), high: rmseUpperBound(1, highFreedom) },
  };
}

/** Nodes of the numerical integration in one unit of 1 / sqrt(number of squares): bounds right to 0.05 %. It goes so many units beyond the modes. */
const NODES = 12;
const BELOW = 8;
const ABOVE = 12;

/** Posterior of the RMS in units of the RMS found; squares are those of `axes` axes together, their mean is `axes`. */
function rmsPosterior(
  squares: Float64Array,
  axes: number,
): { normalErrors: number; quantile: (probability: number) => number } {
  const unit = 1 / Math.sqrt(squares.length * axes);
  const step = unit / NODES;
  const modes = [0, ...TAILS.map((tail) => modeOf(squares, axes, tail))];
  modes.sort((a, b) => a - b);
  const from = modes[0] - BELOW * unit;
  const count = Math.ceil((modes[modes.length - 1] + ABOVE * unit - from) / step);
  const laws = [null, ...TAILS].map((tail) =>
    Float64Array.from({ length: count }, (_, i) => logLikelihood(squares, axes, tail, from + i * step)),
  );
  const highest = laws.reduce((most, law) => law.reduce((a, b) => Math.max(a, b), most), Number.NEGATIVE_INFINITY);
  const density = new Float64Array(count);
  let normal = 0;
  let heavy = 0;
  laws.forEach((law, k) => {
    for (let i = 0; i < count; i++) {
      const value = Math.exp(law[i] - highest);
      density[i] += value;
      if (k === 0) normal += value;
      else heavy += value / TAILS.length;
    }
  });
  return {
    normalErrors: normal / (normal + heavy),
    quantile: (probability) => Math.exp(from + step * quantileAt(density, probability)),
  };
}

/** Logarithm of the likelihood of normal errors (`tail` null) or of t errors, for this logarithm of the RMS. */
function logLikelihood(squares: Float64Array, axes: number, tail: number | null, logRms: number): number {
  const n = squares.length;
  const scale = Math.exp(-2 * logRms);
  const volume = n * axes * logRms;
  // The mean of the squares is the number of axes.
  if (tail === null) return -0.5 * n * axes * (scale + Math.log(2 * Math.PI)) - volume;
  const constant = logGamma((tail + axes) / 2) - logGamma(tail / 2) - 0.5 * axes * Math.log(Math.PI * (tail - 2));
  return n * constant - ((tail + axes) / 2) * sumOfLogs(squares, scale / (tail - 2)) - volume;
}

/** Sum of log(1 + factor * square): logarithms of products, so that there are few of them. */
function sumOfLogs(squares: Float64Array, factor: number): number {
  let sum = 0;
  let product = 1;
  for (const square of squares) {
    product *= 1 + factor * square;
    if (product > 1e100) {
      sum += Math.log(product);
      product = 1;
    }
  }
  return sum + Math.log(product);
}

/** A fit of t errors is looked for within this factor of the RMS found; more zeros than it can explain have none. */
const WIDEST_FIT = Math.log(20);

/** Logarithm of the RMS at which the likelihood of t errors is largest, by halving: its slope falls all the way. */
function modeOf(squares: Float64Array, axes: number, tail: number): number {
  let low = -WIDEST_FIT;
  let high = WIDEST_FIT;
  for (let round = 0; round < 40; round++) {
    const middle = (low + high) / 2;
    const width = (tail - 2) * Math.exp(2 * middle);
    let share = 0;
    for (const square of squares) share += square / (width + square);
    if ((tail + axes) * share > squares.length * axes) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Where, in steps, the integral of a density given at equal steps reaches this share of all; it is linear between the nodes. */
function quantileAt(density: Float64Array, probability: number): number {
  let total = 0;
  for (let i = 1; i < density.length; i++) total += (density[i - 1] + density[i]) / 2;
  let rest = probability * total;
  let i = 1;
  for (; i < density.length - 1; i++) {
    const part = (density[i - 1] + density[i]) / 2;
    if (rest <= part) break;
    rest -= part;
  }
  const [first, slope] = [density[i - 1], density[i] - density[i - 1]];
  // Root of first t + slope t^2 / 2 = rest, in the form without cancellation.
  return i - 1 + Math.min(1, (2 * rest) / (first + Math.sqrt(Math.max(0, first * first + 2 * slope * rest))));
}

import { gammaTerm, logGamma, lowerGamma, regularisedBeta, upperGamma } from './special-functions.js';

/** Probability that a chi-square variate of `dof` degrees of freedom is at most `x`. Throws RangeError for dof <= 0. */
export function chiSquareCdf(x: number, dof: number): number {
  checkFreedom(dof);
  if (Number.isNaN(x)) throw new RangeError('chi-square of a value that is no number');
  if (x === Number.POSITIVE_INFINITY) return 1;
  return x <= 0 ? 0 : lowerGamma(dof / 2, x / 2);
}

/** The value that a chi-square variate of `dof` degrees of freedom stays below with probability p, 0 < p < 1. */
export function chiSquareQuantile(p: number, dof: number): number {
  checkFreedom(dof);
  checkProbability(p);
  return chiSquareFromTails(p, 1 - p, dof);
}

/** The value that a standard normal variate stays below with probability p, 0 < p < 1. */
export function normalQuantile(p: number): number {
  checkProbability(p);
  if (p === 0.5) return 0;
  // The square of a normal variate is chi-square with one degree of freedom; both tails are given without cancellation.
  return p > 0.5
    ? Math.sqrt(chiSquareFromTails(2 * p - 1, 2 * (1 - p), 1))
    : -Math.sqrt(chiSquareFromTails(1 - 2 * p, 2 * p, 1));
}

/** The value that Student's t of `dof` degrees of freedom stays below with probability p, 0 < p < 1. */
export function studentTQuantile(p: number, dof: number): number {
  checkFreedom(dof);
  checkProbability(p);
  if (p === 0.5) return 0;
  const tail = Math.min(p, 1 - p);
  const logScale = logGamma((dof + 1) / 2) - logGamma(dof / 2) - 0.5 * Math.log(Math.PI * dof);
  const y = solveFalling(
    Math.log(Math.max(1e-8, Math.abs(normalQuantile(p)))),
    (at) => {
      const t2 = Math.exp(2 * at);
      return Math.log(regularisedBeta(dof / 2, 0.5, dof / (dof + t2), t2 / (dof + t2)) / 2 / tail);
    },
    (at, logRatio) => {
      const density = Math.exp(logScale - ((dof + 1) / 2) * Math.log1p(Math.exp(2 * at) / dof));
      return (-Math.exp(at) * density) / (tail * Math.exp(logRatio));
    },
  );
  return p > 0.5 ? Math.exp(y) : -Math.exp(y);
}

/** Both ends of a confidence interval, in the unit of the figure it is of. */
export interface Interval {
  low: number;
  high: number;
}

/**
 * Two-sided confidence interval of an RMSE of n normal residuals whose mean is taken as zero, so n degrees of freedom:
 * RMSE * sqrt(n / chi2(1 - a/2, n)) to RMSE * sqrt(n / chi2(a/2, n)), a = 1 - confidence.
 */
export function rmseInterval(rmse: number, n: number, confidence = 0.95): Interval {
  return spreadInterval(rmse, n, confidence);
}

/**
 * Two-sided confidence interval of a standard deviation (divisor n - 1) of n normal values: n - 1 degrees of freedom.
 * NIST/SEMATECH e-Handbook section 1.3.5.8.
 */
export function sigmaInterval(standardDeviation: number, n: number, confidence = 0.95): Interval {
  if (!(n >= 2)) throw new RangeError(`a standard deviation needs two or more values, not ${n}`);
  return spreadInterval(standardDeviation, n - 1, confidence);
}

/** The RMSE is below this with the given confidence (one-sided, n degrees of freedom, zero mean). */
export function rmseUpperBound(rmse: number, n: number, confidence = 0.95): number {
  checkSpread(rmse, n, confidence);
  return rmse * Math.sqrt(n / chiSquareQuantile(1 - confidence, n));
}

/** The RMSE is above this with the given confidence (one-sided, n degrees of freedom, zero mean). */
export function rmseLowerBound(rmse: number, n: number, confidence = 0.95): number {
  checkSpread(rmse, n, confidence);
  return rmse * Math.sqrt(n / chiSquareQuantile(confidence, n));
}

function spreadInterval(spread: number, dof: number, confidence: number): Interval {
  checkSpread(spread, dof, confidence);
  const tail = (1 - confidence) / 2;
  return {
    low: spread * Math.sqrt(dof / chiSquareFromTails(1 - tail, tail, dof)),
    high: spread * Math.sqrt(dof / chiSquareFromTails(tail, 1 - tail, dof)),
  };
}

/** Works on the smaller tail and on logarithms, so that far tails and few degrees of freedom keep their digits. */
function chiSquareFromTails(lower: number, upper: number, dof: number): number {
  const a = dof / 2;
  const falling = upper <= lower;
  const tail = falling ? upper : lower;
  const tailAt = falling ? upperGamma : lowerGamma;
  const sign = falling ? 1 : -1;
  const y = solveFalling(
    Math.log(dof),
    (at) => sign * Math.log(tailAt(a, Math.exp(at) / 2) / tail),
    (at, logRatio) => (-a * gammaTerm(a, Math.exp(at) / 2)) / (tail * Math.exp(sign * logRatio)),
  );
  return Math.exp(y);
}

/**
 * Root of a decreasing function: Newton's method within a bracket that is first widened until it contains the root, and
 * halved where a step would leave it. `slope` receives the value already computed at the same argument.
 */
function solveFalling(
  start: number,
  value: (at: number) => number,
  slope: (at: number, valueThere: number) => number,
): number {
  let low = start - 1;
  let high = start + 1;
  for (let step = 2; value(low) < 0; step *= 2) low -= step;
  for (let step = 2; value(high) > 0; step *= 2) high += step;
  let at = start;
  for (let round = 0; round < 200; round++) {
    const here = value(at);
    if (here === 0) return at;
    if (here > 0) low = at;
    else high = at;
    let next = at - here / slope(at, here);
    if (!(next > low && next < high)) next = (low + high) / 2;
    const step = Math.abs(next - at);
    at = next;
    if (step <= 1e-15 * Math.max(1, Math.abs(at))) break;
  }
  return at;
}

function checkFreedom(dof: number): void {
  if (!(dof > 0 && Number.isFinite(dof))) throw new RangeError(`degrees of freedom must be positive, not ${dof}`);
}

function checkProbability(p: number): void {
  if (!(p > 0 && p < 1)) throw new RangeError(`a probability between 0 and 1 is needed, not ${p}`);
}

function checkSpread(spread: number, dof: number, confidence: number): void {
  if (!(spread >= 0 && Number.isFinite(spread))) throw new RangeError(`an RMSE is not negative: ${spread}`);
  checkFreedom(dof);
  checkProbability(confidence);
}

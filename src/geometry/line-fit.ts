/** A straight line v = level + slope (t - middle) by weighted least squares, and how well it is determined. */
export interface LineFit {
  middle: number;
  level: number;
  slope: number;
  /** Standard deviation of the slope from the scatter about the line, divisor n - 2. */
  slopeStd: number;
}

/** Fits values `from` (inside) to `to` (outside). `null` for fewer than three, or when all have the same t. */
export function fitLine(
  t: Float64Array,
  v: Float64Array,
  weight: Float64Array,
  from: number,
  to: number,
): LineFit | null {
  if (to - from < 3) return null;
  let w = 0;
  let st = 0;
  let sv = 0;
  for (let i = from; i < to; i++) {
    w += weight[i];
    st += weight[i] * (t[i] - t[from]);
    sv += weight[i] * v[i];
  }
  const middle = t[from] + st / w;
  const level = sv / w;
  let tt = 0;
  let tv = 0;
  for (let i = from; i < to; i++) {
    tt += weight[i] * (t[i] - middle) ** 2;
    tv += weight[i] * (t[i] - middle) * (v[i] - level);
  }
  if (!(tt > 0)) return null;
  const slope = tv / tt;
  let squares = 0;
  for (let i = from; i < to; i++) squares += weight[i] * (v[i] - level - slope * (t[i] - middle)) ** 2;
  return { middle, level, slope, slopeStd: Math.sqrt(squares / (to - from - 2) / tt) };
}

/** A step between values before and after a place, on lines of a common slope. */
export interface StepFit {
  step: number;
  /** Common slope of the two lines. */
  slope: number;
  /** Standard deviation of the step from the scatter about the lines, divisor n - 3. */
  std: number;
}

/**
 * Step from values `from` .. `before` (outside) to `after` .. `to` (outside) by least squares of two parallel lines.
 * `null` for fewer than two values on a side or four in all.
 */
export function fitStep(
  t: Float64Array,
  v: Float64Array,
  from: number,
  before: number,
  after: number,
  to: number,
): StepFit | null {
  const n = before - from;
  const m = to - after;
  if (n < 2 || m < 2 || n + m < 4) return null;
  const mean = (values: Float64Array, a: number, b: number) => {
    let sum = 0;
    for (let i = a; i < b; i++) sum += values[i] - values[a];
    return values[a] + sum / (b - a);
  };
  const t1 = mean(t, from, before);
  const v1 = mean(v, from, before);
  const t2 = mean(t, after, to);
  const v2 = mean(v, after, to);
  let tt = 0;
  let tv = 0;
  for (let i = from; i < before; i++) {
    tt += (t[i] - t1) ** 2;
    tv += (t[i] - t1) * (v[i] - v1);
  }
  for (let i = after; i < to; i++) {
    tt += (t[i] - t2) ** 2;
    tv += (t[i] - t2) * (v[i] - v2);
  }
  if (!(tt > 0)) return null;
  const slope = tv / tt;
  let squares = 0;
  for (let i = from; i < before; i++) squares += (v[i] - v1 - slope * (t[i] - t1)) ** 2;
  for (let i = after; i < to; i++) squares += (v[i] - v2 - slope * (t[i] - t2)) ** 2;
  const variance = squares / Math.max(1, n + m - 3);
  const lever = t2 - t1;
  return { step: v2 - v1 - slope * lever, slope, std: Math.sqrt(variance * (1 / n + 1 / m + (lever * lever) / tt)) };
}

/** Steps of the quarter circle over which the probability is integrated; the error is below 1e-12 for every ratio. */
const STEPS = 512;

/**
 * Probability that a normal error in two axes is no longer than a radius.
 * With x = sigmaX q cos t and y = sigmaY q sin t the density is uniform in t, and
 * P(radius) = 1 - (2 / pi) * integral from 0 to pi / 2 of exp(-radius^2 / (2 (sigmaX^2 cos^2 t + sigmaY^2 sin^2 t))) dt.
 * @param sigmaX standard deviation about zero (RMSE) in one axis; `sigmaY` in the other; in the unit of the radius
 */
export function probabilityWithinRadius(radius: number, sigmaX: number, sigmaY: number): number {
  let sum = 0;
  for (let i = 0; i <= STEPS; i++) {
    const t = (i / STEPS) * (Math.PI / 2);
    const variance = (sigmaX * Math.cos(t)) ** 2 + (sigmaY * Math.sin(t)) ** 2;
    const beyond = variance === 0 ? 0 : Math.exp((-radius * radius) / (2 * variance));
    sum += i === 0 || i === STEPS ? beyond / 2 : beyond;
  }
  return 1 - sum / STEPS;
}

/**
 * Radius of the circle that holds 95 % of a normal horizontal error: 1.9600 times the RMSE of the only axis that errs,
 * 2.4477 times the RMSE of one axis where both are equal, and the exact value between.
 * @param rmseX RMSE in one axis, `rmseY` in the other, metres
 * @returns metres; 0 where both are 0
 */
export function radiusOf95(rmseX: number, rmseY: number): number {
  const larger = Math.max(rmseX, rmseY);
  if (larger === 0) return 0;
  const ratio = Math.min(rmseX, rmseY) / larger;
  let low = 1.9;
  let high = 2.5;
  // 50 halvings of 0.6 leave less than 1e-15.
  for (let i = 0; i < 50; i++) {
    const middle = (low + high) / 2;
    if (probabilityWithinRadius(middle, 1, ratio) < 0.95) low = middle;
    else high = middle;
  }
  return ((low + high) / 2) * larger;
}

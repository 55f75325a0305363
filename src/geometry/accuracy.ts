import { chiSquareQuantile } from './distributions.js';

/**
 * Positional accuracy figures by published standards. Lengths in metres unless the name says centimetres.
 * NSSDA: FGDC-STD-007.3-1998, Geospatial Positioning Accuracy Standards, part 3. ASPRS: Positional Accuracy Standards for
 * Digital Geospatial Data, edition 2 (2023, 2024); the first edition (2014) where said.
 */

/** 95 % of a circular normal error lie within this many RMSE_r: 2.4477 / sqrt(2) (NSSDA, appendix 3-A). */
export const NSSDA_RADIAL = 1.7308;
/** 95 % of a circular normal error lie within this many RMSE of one axis: sqrt of chi-square(0.95, 2) (NSSDA, 3-A). */
export const NSSDA_AXIS = 2.4477;
/** 95 % of a normal error lie within this many RMSE_z: the normal quantile of 0.975 (NSSDA, 3-A). */
export const NSSDA_VERTICAL = 1.96;
/** NSSDA has no formula when the smaller of RMSE_x and RMSE_y is under this share of the larger. */
const NSSDA_LEAST_RATIO = 0.6;

/** Class names of the first ASPRS edition, centimetres (from memory; the second edition allows any value). */
const NAMED_CLASSES_CENTIMETRES: readonly number[] = [1, 2.5, 5, 10, 15, 20, 33.3, 66.7, 100, 333.3];

/**
 * Horizontal accuracy at 95 % confidence by NSSDA: 1.7308 * RMSE_r for equal axes, 2.4477 * (RMSE_x + RMSE_y) / 2 when the
 * smaller is at least 0.6 of the larger, `null` when it is less: the standard gives no formula then.
 */
export function nssdaHorizontal(rmseX: number, rmseY: number): number | null {
  checkLength(rmseX);
  checkLength(rmseY);
  if (rmseX === rmseY) return NSSDA_RADIAL * rmseHorizontal(rmseX, rmseY);
  // 60 mm of 100 mm must count as the ratio 0.6, despite rounding of the last binary digit.
  if (Math.min(rmseX, rmseY) < NSSDA_LEAST_RATIO * Math.max(rmseX, rmseY) * (1 - 1e-9)) return null;
  return NSSDA_AXIS * 0.5 * (rmseX + rmseY);
}

/** Vertical accuracy at 95 % confidence by NSSDA: 1.9600 * RMSE_z. */
export function nssdaVertical(rmseZ: number): number {
  checkLength(rmseZ);
  return NSSDA_VERTICAL * rmseZ;
}

/** RMSE_H = sqrt(RMSE_x^2 + RMSE_y^2) (ASPRS edition 2, 7.3; RMSE_r of NSSDA). */
export function rmseHorizontal(rmseX: number, rmseY: number): number {
  return combineQuadrature(rmseX, rmseY);
}

/** RMSE_3D = sqrt(RMSE_H^2 + RMSE_V^2) (ASPRS edition 2, 7.5). */
export function rmse3d(rmseH: number, rmseV: number): number {
  return combineQuadrature(rmseH, rmseV);
}

/**
 * Root of the sum of squares of independent parts: how edition 2 (7.11) adds the accuracy of the check point survey to the
 * fit of the cloud to the check points. Throws RangeError for a part that is negative or not finite.
 */
export function combineQuadrature(...parts: number[]): number {
  let sum = 0;
  for (const part of parts) {
    checkLength(part);
    sum += part * part;
  }
  return Math.sqrt(sum);
}

/**
 * Radius within which 95 % of normal errors with these RMSE of the axes lie, metres: RMSE of all axes times
 * sqrt(chi-square(0.95, v) / v), v = (sum s^2)^2 / sum s^4 (Satterthwaite 1946). One axis: 1.9600 and two equal axes: 1.7308,
 * as NSSDA has them; three equal axes: 1.6140.
 */
export function accuracyInSpaceAt95(rmseOfAxes: readonly number[]): number {
  const total = combineQuadrature(...rmseOfAxes);
  if (total === 0) return 0;
  // Shares of the whole, so that the fourth powers of millimetres stay within range.
  const freedom = 1 / rmseOfAxes.reduce((sum, s) => sum + (s / total) ** 4, 0);
  return total * Math.sqrt(chiSquareQuantile(0.95, freedom) / freedom);
}

/**
 * The smallest class, in centimetres, whose limit the RMSE (metres) meets; RMSE equal to the class meets it. `null` when
 * it meets none of the list.
 */
export function smallestClassMet(
  rmseMetres: number,
  classesCentimetres: readonly number[] = NAMED_CLASSES_CENTIMETRES,
): number | null {
  checkLength(rmseMetres);
  let smallest: number | null = null;
  for (const centimetres of classesCentimetres) {
    // 33.3 / 100 falls short of 0.333 in binary by a unit of rounding.
    const limitMetres = Number((centimetres / 100).toPrecision(15));
    if (rmseMetres <= limitMetres && (smallest === null || centimetres < smallest)) smallest = centimetres;
  }
  return smallest;
}

/**
 * The class as edition 2 names it, where any value is a class: the RMSE in centimetres, rounded up to `step` (0.1 cm) so
 * that the class is met.
 */
export function continuousClass(rmseMetres: number, stepCentimetres = 0.1): number {
  checkLength(rmseMetres);
  if (!(stepCentimetres > 0)) throw new RangeError(`a class step is positive, not ${stepCentimetres}`);
  const steps = (rmseMetres * 100) / stepCentimetres;
  // 0.07 m is 70.00000000000001 steps of 0.1 cm in binary: a billionth of a step is rounding, not error.
  const whole = Math.ceil(steps - 1e-9 * Math.max(1, steps));
  return Number((whole * stepCentimetres).toPrecision(12));
}

function checkLength(value: number): void {
  if (!(value >= 0 && Number.isFinite(value))) throw new RangeError(`an RMSE is a number from 0 up, not ${value}`);
}

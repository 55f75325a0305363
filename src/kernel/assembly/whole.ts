/** Added to an integer below 2^51 in size, it leaves that integer in the lower half of the sum's bits (1.5 * 2^52). */
export const TO_BITS: f64 = 6755399441055744;

/**
 * Cell indices of two integer coordinates. Half a unit is added first, so that multiplying by the inverse cannot round to the
 * wrong cell at a border.
 */
// @ts-ignore: decorator
@inline
export function cellOf(v: v128, inverse: v128): v128 {
  return f64x2.floor(f64x2.mul(f64x2.add(v, f64x2.splat(0.5)), inverse));
}

/** Converts four integers in f64 (two vectors) to one vector of i32. */
// @ts-ignore: decorator
@inline
export function toInt32(near: v128, far: v128): v128 {
  const toBits = f64x2.splat(TO_BITS);
  return i32x4.shuffle(f64x2.add(near, toBits), f64x2.add(far, toBits), 0, 2, 4, 6);
}

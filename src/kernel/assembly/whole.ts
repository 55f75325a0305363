/** Added to a whole number below 2^51, it leaves that number in the lower half of the sum's bits. */
export const TO_BITS: f64 = 6755399441055744;

/**
 * Cells of two whole coordinates. With half of one added, multiplying cannot round across a border, as dividing cannot.
 */
// @ts-ignore: decorator
@inline
export function cellOf(v: v128, inverse: v128): v128 {
  return f64x2.floor(f64x2.mul(f64x2.add(v, f64x2.splat(0.5)), inverse));
}

/** Four whole numbers in 32 bits each. */
// @ts-ignore: decorator
@inline
export function inBits(near: v128, far: v128): v128 {
  const toBits = f64x2.splat(TO_BITS);
  return i32x4.shuffle(f64x2.add(near, toBits), f64x2.add(far, toBits), 0, 2, 4, 6);
}

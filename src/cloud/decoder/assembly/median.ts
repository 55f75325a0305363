/*
 * A running median of about the last five values, kept as five sorted numbers of which the largest and the smallest
 * are replaced in turn: the largest as long as new values are below the median, the smallest as long as they are above.
 *
 * An address: five i32 in order, then the byte offset (0 or 4) of the four that stay when the next value comes.
 */
export const MEDIAN_SIZE: usize = 32;

// @ts-expect-error: decorator
@inline
export function median(address: usize): i32 {
  return load<i32>(address, 8);
}

/** Sorts a value in, in place of an extreme one. Minima and maxima of vectors, since branches on data would be mispredicted. */
// @ts-expect-error: decorator
@inline
export function addToMedian(address: usize, value: i32): void {
  const middle = load<i32>(address, 8);
  const stays = load<u32>(address, 20);
  const four = v128.load(address + stays);
  const fresh = i32x4.splat(value);
  const lower = i32x4.min_s(four, fresh);
  // Lanes: lowest possible number, then the first three of the four.
  const shifted = v128.shuffle<i32>(i32x4.splat(i32.MIN_VALUE), four, 0, 4, 5, 6);
  v128.store(address, i32x4.max_s(shifted, lower));
  store<i32>(address, max(i32x4.extract_lane(four, 3), value), 16);
  // While the largest is dropped, values below the median keep it so; while the smallest is, values above do.
  store<u32>(address, select<u32>(select<u32>(0, 4, value < middle), select<u32>(4, 0, value > middle), stays === 0), 20);
}

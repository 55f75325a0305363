/**
 * Smallest and largest of whole numbers.
 * @param at address of `count` numbers (i32), one at least
 * @param to address of the output: smallest, largest (i32)
 */
export function rangeOfWhole(at: usize, count: i32, to: usize): void {
  const end = at + ((<usize>count) << 2);
  let low: i32 = load<i32>(at);
  let high: i32 = low;
  if (count >= 4) {
    let lows = v128.load(at);
    let highs = lows;
    for (at += 16; at + 16 <= end; at += 16) {
      const four = v128.load(at);
      lows = i32x4.min_s(lows, four);
      highs = i32x4.max_s(highs, four);
    }
    low = min(min(i32x4.extract_lane(lows, 0), i32x4.extract_lane(lows, 1)), min(i32x4.extract_lane(lows, 2), i32x4.extract_lane(lows, 3)));
    high = max(max(i32x4.extract_lane(highs, 0), i32x4.extract_lane(highs, 1)), max(i32x4.extract_lane(highs, 2), i32x4.extract_lane(highs, 3)));
  }
  for (; at < end; at += 4) {
    const one = load<i32>(at);
    low = min(low, one);
    high = max(high, one);
  }
  store<i32>(to, low);
  store<i32>(to, high, 4);
}

/**
 * Smallest and largest of numbers; what is not a number is left out, and both are Infinity and -Infinity where nothing is left.
 * @param at address of `count` numbers (f64)
 * @param to address of the output: smallest, largest (f64)
 */
export function rangeOfNumbers(at: usize, count: i32, to: usize): void {
  const end = at + ((<usize>count) << 3);
  let lows = f64x2.splat(Infinity);
  let highs = f64x2.splat(-Infinity);
  // pmin and pmax keep their first operand where the second is not a number.
  for (; at + 16 <= end; at += 16) {
    const two = v128.load(at);
    lows = f64x2.pmin(lows, two);
    highs = f64x2.pmax(highs, two);
  }
  let low = pick(f64x2.extract_lane(lows, 0), f64x2.extract_lane(lows, 1), true);
  let high = pick(f64x2.extract_lane(highs, 0), f64x2.extract_lane(highs, 1), false);
  if (at < end) {
    const one = load<f64>(at);
    low = pick(low, one, true);
    high = pick(high, one, false);
  }
  // Adding 0 makes -0 of the file the same as 0, in whatever order they come.
  store<f64>(to, low + 0);
  store<f64>(to, high + 0, 8);
}

// @ts-ignore: decorator
@inline
function pick(known: f64, other: f64, smaller: bool): f64 {
  return (smaller ? other < known : other > known) ? other : known;
}

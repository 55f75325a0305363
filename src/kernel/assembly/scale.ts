/** Math.round of JavaScript for two f64: halves are rounded up. */
function round(x: v128): v128 {
  const up = f64x2.ceil(x);
  const tooFar = f64x2.gt(f64x2.sub(up, f64x2.splat(0.5)), x);
  return f64x2.sub(up, v128.and(tooFar, f64x2.splat(1)));
}

function upperHalf(v: v128): v128 {
  return i64x2.shuffle(v, v, 1, 1);
}

/**
 * World coordinates (f64) from stored integers (i32). Where `whole`, raw * scale + offset is already an integer; otherwise
 * the result is round((raw * scale + offset) * unit).
 * @param range address of two i32 that receive the smallest and largest raw value
 */
export function toWorld(
  raw: usize,
  count: usize,
  whole: bool,
  scale: f64,
  offset: f64,
  unit: f64,
  to: usize,
  range: usize,
): void {
  const scales = f64x2.splat(scale);
  const offsets = f64x2.splat(offset);
  const units = f64x2.splat(unit);
  let low = i32x4.splat(i32.MAX_VALUE);
  let high = i32x4.splat(i32.MIN_VALUE);
  const end = raw + (count << 2);
  for (; raw + 16 <= end; raw += 16, to += 32) {
    const four = v128.load(raw);
    low = i32x4.min_s(low, four);
    high = i32x4.max_s(high, four);
    let near = f64x2.add(f64x2.mul(f64x2.convert_low_i32x4_s(four), scales), offsets);
    let far = f64x2.add(f64x2.mul(f64x2.convert_low_i32x4_s(upperHalf(four)), scales), offsets);
    if (!whole) {
      near = round(f64x2.mul(near, units));
      far = round(f64x2.mul(far, units));
    }
    v128.store(to, near);
    v128.store(to, far, 16);
  }
  low = i32x4.min_s(low, upperHalf(low));
  high = i32x4.max_s(high, upperHalf(high));
  let least = min(i32x4.extract_lane(low, 0), i32x4.extract_lane(low, 1));
  let most = max(i32x4.extract_lane(high, 0), i32x4.extract_lane(high, 1));
  for (; raw < end; raw += 4, to += 8) {
    const one = load<i32>(raw);
    least = min(least, one);
    most = max(most, one);
    const world = <f64>one * scale + offset;
    store<f64>(to, whole ? world : Math.round(world * unit));
  }
  store<i32>(range, least);
  store<i32>(range, most, 4);
}

/** Widens `count` u16 to i32. @returns whether all are equal */
export function widenShorts(at: usize, count: usize, to: usize): bool {
  const first = load<u16>(at);
  const like = i16x8.splat(first);
  let same = i16x8.splat(-1);
  const end = at + (count << 1);
  for (; at + 16 <= end; at += 16, to += 32) {
    const eight = v128.load(at);
    same = v128.and(same, i16x8.eq(eight, like));
    v128.store(to, i32x4.extend_low_i16x8_u(eight));
    v128.store(to, i32x4.extend_high_i16x8_u(eight), 16);
  }
  let uniform = i16x8.all_true(same);
  for (; at < end; at += 2, to += 4) {
    const one = load<u16>(at);
    uniform = uniform && one == first;
    store<i32>(to, one);
  }
  return uniform;
}

/** Bitwise OR of `count` bytes. */
export function orBytes(at: usize, count: usize): u32 {
  let bits = i64x2.splat(0);
  const end = at + count;
  for (; at + 16 <= end; at += 16) bits = v128.or(bits, v128.load(at));
  const both = i64x2.extract_lane(bits, 0) | i64x2.extract_lane(bits, 1);
  let joined = <u32>both | <u32>(both >> 32);
  joined |= joined >> 16;
  joined |= joined >> 8;
  for (; at < end; at++) joined |= load<u8>(at);
  return joined & 255;
}

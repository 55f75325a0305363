/** Hash of a key of four i32. */
// @ts-ignore: decorator
@inline
export function hash(key: v128): u32 {
  const mixed = i32x4.mul(key, i32x4(0x9e3779b1, 0x85ebca77, 0xc2b2ae3d, 0x27d4eb2f));
  const two = v128.xor(mixed, i64x2.shuffle(mixed, mixed, 1, 0));
  const h = <u32>(i32x4.extract_lane(two, 0) ^ i32x4.extract_lane(two, 1));
  return h ^ (h >> 15);
}

/** Hashes of four keys at once: `a` holds the first i32 of each key, `b` the second ones, and so on. */
// @ts-ignore: decorator
@inline
export function hashes(a: v128, b: v128, c: v128, d: v128): v128 {
  const ab = v128.xor(i32x4.mul(a, i32x4.splat(0x9e3779b1)), i32x4.mul(b, i32x4.splat(0x85ebca77)));
  const cd = v128.xor(i32x4.mul(c, i32x4.splat(0xc2b2ae3d)), i32x4.mul(d, i32x4.splat(0x27d4eb2f)));
  const h = v128.xor(ab, cd);
  return v128.xor(h, i32x4.shr_u(h, 15));
}

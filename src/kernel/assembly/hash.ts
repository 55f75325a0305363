/** Mixes the four integers of a key. */
// @ts-ignore: decorator
@inline
export function hash(key: v128): u32 {
  const mixed = i32x4.mul(key, i32x4(0x9e3779b1, 0x85ebca77, 0xc2b2ae3d, 0x27d4eb2f));
  const two = v128.xor(mixed, i64x2.shuffle(mixed, mixed, 1, 0));
  const h = <u32>(i32x4.extract_lane(two, 0) ^ i32x4.extract_lane(two, 1));
  return h ^ (h >> 15);
}

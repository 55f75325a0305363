// Copies columns out of consecutive raw point records that are `step` bytes apart.
// `at`: address of the first byte wanted in the first record; `count`: number of records; `to`: address of the column.

/** One byte a record: `(byte >> shift) & mask` (u8). */
export function takeBytes(at: usize, step: usize, count: usize, to: usize, shift: u32, mask: u32): void {
  const end = to + count;
  while (to < end) {
    store<u8>(to, ((<u32>load<u8>(at)) >> shift) & mask);
    at += step;
    to += 1;
  }
}

/** One u16 a record. */
export function takeShorts(at: usize, step: usize, count: usize, to: usize): void {
  const end = to + (count << 1);
  while (to < end) {
    store<u16>(to, load<u16>(at));
    at += step;
    to += 2;
  }
}

/** One f64 a record. */
export function takeDoubles(at: usize, step: usize, count: usize, to: usize): void {
  const end = to + (count << 3);
  while (to < end) {
    store<u64>(to, load<u64>(at));
    at += step;
    to += 8;
  }
}

/** Three consecutive i32 a record: x, y and z, to one column each. */
export function takeTriples(at: usize, step: usize, count: usize, x: usize, y: usize, z: usize): void {
  const end = x + (count << 2);
  while (x < end) {
    store<i32>(x, load<i32>(at));
    store<i32>(y, load<i32>(at, 4));
    store<i32>(z, load<i32>(at, 8));
    at += step;
    x += 4;
    y += 4;
    z += 4;
  }
}

/** Flags of point formats 6 to 10: bits 0 to 3 stay, bits 6 and 7 go to bits 4 and 5 (u8). */
export function takeFlags(at: usize, step: usize, count: usize, to: usize): void {
  const end = to + count;
  while (to < end) {
    const byte: u32 = load<u8>(at);
    store<u8>(to, (byte & 15) | ((byte >> 6) << 4));
    at += step;
    to += 1;
  }
}

/** Flags of point formats 0 to 5: bits 5 to 7 of the second byte go to bits 0 to 2, bits 6 and 7 of the first to 4 and 5 (u8). */
export function takeLegacyFlags(at: usize, step: usize, count: usize, to: usize): void {
  const end = to + count;
  while (to < end) {
    store<u8>(to, ((<u32>load<u8>(at, 1)) >> 5) | (((<u32>load<u8>(at)) >> 6) << 4));
    at += step;
    to += 1;
  }
}

/** One signed byte a record, widened to i16. */
export function takeSignedBytes(at: usize, step: usize, count: usize, to: usize): void {
  const end = to + (count << 1);
  while (to < end) {
    store<i16>(to, <i16>load<i8>(at));
    at += step;
    to += 2;
  }
}

// Columns out of raw point records that stand one behind the other, `step` bytes apart. `at`: first byte wanted of the
// first record; `to`: where the column goes.

export function takeBytes(at: usize, step: usize, count: usize, to: usize, shift: u32, mask: u32): void {
  const end = to + count;
  while (to < end) {
    store<u8>(to, ((<u32>load<u8>(at)) >> shift) & mask);
    at += step;
    to += 1;
  }
}

export function takeShorts(at: usize, step: usize, count: usize, to: usize): void {
  const end = to + (count << 1);
  while (to < end) {
    store<u16>(to, load<u16>(at));
    at += step;
    to += 2;
  }
}

export function takeDoubles(at: usize, step: usize, count: usize, to: usize): void {
  const end = to + (count << 3);
  while (to < end) {
    store<u64>(to, load<u64>(at));
    at += step;
    to += 8;
  }
}

/** Three integers that stand side by side: x, y, z. */
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

/** Flags of formats 6 to 10: the lower four bits, and the upper two above them. */
export function takeFlags(at: usize, step: usize, count: usize, to: usize): void {
  const end = to + count;
  while (to < end) {
    const byte: u32 = load<u8>(at);
    store<u8>(to, (byte & 15) | ((byte >> 6) << 4));
    at += step;
    to += 1;
  }
}

/** Flags of formats 0 to 5: the upper three bits of the second byte, and the upper two of the first from bit 4. */
export function takeLegacyFlags(at: usize, step: usize, count: usize, to: usize): void {
  const end = to + count;
  while (to < end) {
    store<u8>(to, ((<u32>load<u8>(at, 1)) >> 5) | (((<u32>load<u8>(at)) >> 6) << 4));
    at += step;
    to += 1;
  }
}

/** Signed bytes, widened. */
export function takeSignedBytes(at: usize, step: usize, count: usize, to: usize): void {
  const end = to + (count << 1);
  while (to < end) {
    store<i16>(to, <i16>load<i8>(at));
    at += step;
    to += 2;
  }
}

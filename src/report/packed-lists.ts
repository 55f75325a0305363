import { constants, deflateSync, inflateSync } from 'node:zlib';

/**
 * A list of whole numbers that is to be written as short text. Each number is zigzag coded (0, -1, 1, -2 ... become 0, 1, 2,
 * 3 ...). The lowest byte of every number of the list comes first, then the second lowest of every number, and so on. All
 * lists together are compressed as a zlib stream (RFC 1950) and written in base64 (RFC 4648, section 4).
 *
 * The compressor shortens runs of one byte only (strategy RLE). It does not look for repeated strings: it would find them by
 * a hash that differs between processors. Equal lists therefore give equal text on every machine.
 */
export interface PackedList {
  values: ArrayLike<number>;
  /** Bytes for each number, 1 to 4. */
  bytes: number;
}

/**
 * The lists as base64 text.
 * @throws RangeError for a number that is not whole or does not fit into its bytes
 */
export function packLists(lists: readonly PackedList[]): string {
  const raw = new Uint8Array(lists.reduce((sum, { values, bytes }) => sum + values.length * bytes, 0));
  let at = 0;
  for (const { values, bytes } of lists) {
    const count = values.length;
    for (let i = 0; i < count; i++) {
      const value = values[i];
      // Without this check, value << 1 would lose the highest bit.
      if (value !== Math.trunc(value) || bytesFor(value) > bytes)
        throw new RangeError(`${value} does not fit into ${bytes} bytes`);
      let code = ((value << 1) ^ (value >> 31)) >>> 0;
      for (let plane = 0; plane < bytes; plane++) {
        raw[at + plane * count + i] = code & 255;
        code >>>= 8;
      }
    }
    at += count * bytes;
  }
  return deflateSync(raw, { strategy: constants.Z_RLE, level: 9 }).toString('base64');
}

/** The lists that `packLists` wrote, one array for each entry of `layout`: how many numbers, and bytes for each. */
export function unpackLists(text: string, layout: readonly { count: number; bytes: number }[]): Int32Array[] {
  const raw = inflateSync(Buffer.from(text, 'base64'));
  let at = 0;
  return layout.map(({ count, bytes }) => {
    const values = new Int32Array(count);
    for (let plane = 0; plane < bytes; plane++) {
      for (let i = 0; i < count; i++) values[i] |= raw[at + plane * count + i] << (8 * plane);
    }
    for (let i = 0; i < count; i++) values[i] = (values[i] >>> 1) ^ -(values[i] & 1);
    at += count * bytes;
    return values;
  });
}

/** Number of bytes that a zigzag coded number needs; 5 when it does not fit into 32 bits. */
export function bytesFor(value: number): number {
  const size = value < 0 ? -value - 1 : value;
  if (size < 0x80) return 1;
  if (size < 0x8000) return 2;
  if (size < 0x800000) return 3;
  return size < 0x80000000 ? 4 : 5;
}

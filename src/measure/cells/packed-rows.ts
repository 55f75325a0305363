import { headerBytes, type PackedHeader, readHeader, writeHeader } from './packed-header.js';

/** Canonical bytes of rows of numbers found by a whole number, such as the number of a file: header; number, length, values of each row. */
export function packRows(header: PackedHeader, rows: ReadonlyMap<number, ArrayLike<number>>): ArrayBuffer {
  const order = [...rows.keys()].sort((a, b) => a - b);
  let length = 0;
  for (const row of rows.values()) length += 2 + row.length;
  const from = headerBytes(1);
  const packed = new ArrayBuffer(from + length * 8);
  writeHeader(packed, header, [order.length]);
  const out = new Float64Array(packed, from);
  let at = 0;
  for (const key of order) {
    const row = rows.get(key)!;
    out[at] = key;
    out[at + 1] = row.length;
    out.set(row, at + 2);
    at += 2 + row.length;
  }
  return packed;
}

/**
 * Calls `visit` for each packed row, in the order of their numbers; `row` is a view of `packed`.
 * @throws RangeError where the bytes are the state of another measurement or of another version
 */
export function visitRows(
  packed: ArrayBuffer,
  header: PackedHeader,
  visit: (key: number, row: Float64Array) => void,
): void {
  const [count] = readHeader(packed, header, 1);
  const numbers = new Float64Array(packed, headerBytes(1));
  let at = 0;
  for (let i = 0; i < count; i++) {
    const end = at + 2 + numbers[at + 1];
    visit(numbers[at], numbers.subarray(at + 2, end));
    at = end;
  }
}

import { BLOCK } from './columns';

/* Fills columns with one value: as many entries as asked for, at most a block. */

/** Fills a column of u8. */
export function fill8(column: usize, value: u8, count: u32): void {
  memory.fill(column, value, min(count, BLOCK));
}

/** Fills a column of u16. */
export function fill16(column: usize, value: u16, count: u32): void {
  const end = column + 2 * min(count, BLOCK);
  for (let at = column; at < end; at += 2) store<u16>(at, value);
}

/** Fills a column of u32. */
export function fill32(column: usize, value: u32, count: u32): void {
  const end = column + 4 * min(count, BLOCK);
  for (let at = column; at < end; at += 4) store<u32>(at, value);
}

/** Fills a column of u64. */
export function fill64(column: usize, value: u64, count: u32): void {
  const end = column + 8 * min(count, BLOCK);
  for (let at = column; at < end; at += 8) store<u64>(at, value);
}

/** Fills a column with copies of the `size` bytes at `from`. */
export function fillRecords(column: usize, from: usize, size: u32, count: u32): void {
  const end = column + size * min(count, BLOCK);
  for (let at = column; at < end; at += size) memory.copy(at, from, size);
}

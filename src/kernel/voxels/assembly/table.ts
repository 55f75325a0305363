import { hash } from '../../assembly/hash';
import { RECORD_BYTES } from './memory';

/** Hash table of records by their key, the first 16 bytes of each. `entries` holds 0 or the number of a record, from 1. */
@unmanaged
export class Table {
  entries: usize;
  mask: u32;
  records: usize;
  count: i32;
}

/** Number of table entries for so many records: a power of two, at least twice the number of records. */
export function entriesFor(records: i32): i32 {
  let entries: i32 = 1024;
  while (entries < 2 * records) entries <<= 1;
  return entries;
}

/** Sets the addresses of a table and clears it. */
export function prepare(table: Table, entries: usize, size: i32, records: usize): void {
  table.entries = entries;
  table.mask = <u32>size - 1;
  table.records = records;
  table.count = 0;
  memory.fill(entries, 0, <usize>size << 2);
}

/** Address of the record of a key; a new one has all sums zero. */
// @ts-ignore: decorator
@inline
export function find(table: Table, key: v128): usize {
  const mask = table.mask;
  const entries = table.entries;
  const records = table.records;
  let at = hash(key) & mask;
  let number = load<i32>(entries + (<usize>at << 2));
  while (number != 0) {
    const record = records + <usize>(number - 1) * RECORD_BYTES;
    if (i32x4.all_true(i32x4.eq(v128.load(record), key))) return record;
    at = (at + 1) & mask;
    number = load<i32>(entries + (<usize>at << 2));
  }
  const record = records + <usize>table.count * RECORD_BYTES;
  table.count++;
  store<i32>(entries + (<usize>at << 2), table.count);
  v128.store(record, key);
  const none = i64x2.splat(0);
  v128.store(record, none, 16);
  v128.store(record, none, 32);
  v128.store(record, none, 48);
  v128.store(record, none, 64);
  v128.store(record, none, 80);
  v128.store(record, none, 96);
  return record;
}

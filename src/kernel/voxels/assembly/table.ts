import { hash } from '../../assembly/hash';
import { RECORD } from './memory';

/** Records found again by their key, the first 16 bytes of each. Numbers in `entries` are those of records, from 1. */
@unmanaged
export class Table {
  entries: usize;
  mask: u32;
  records: usize;
  count: i32;
}

/** Entries of a table for so many records: a power of two, at the least twice as many. */
export function entriesFor(records: i32): i32 {
  let entries: i32 = 1024;
  while (entries < 2 * records) entries <<= 1;
  return entries;
}

/** Empties a table and puts it where it is to be. */
export function prepare(table: Table, entries: usize, size: i32, records: usize): void {
  table.entries = entries;
  table.mask = <u32>size - 1;
  table.records = records;
  table.count = 0;
  memory.fill(entries, 0, <usize>size << 2);
}

/** The record of a key; made, with all sums zero, if it is new. */
// @ts-ignore: decorator
@inline
export function find(table: Table, key: v128): usize {
  const mask = table.mask;
  const entries = table.entries;
  const records = table.records;
  let at = hash(key) & mask;
  let number = load<i32>(entries + (<usize>at << 2));
  while (number != 0) {
    const record = records + <usize>(number - 1) * RECORD;
    if (i32x4.all_true(i32x4.eq(v128.load(record), key))) return record;
    at = (at + 1) & mask;
    number = load<i32>(entries + (<usize>at << 2));
  }
  const record = records + <usize>table.count * RECORD;
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

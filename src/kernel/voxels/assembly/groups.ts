// The functions that visit voxels write records, one after the other, each of a group; at the end the records are sorted
// by group into columns.
import { hash } from '../../assembly/hash';
import { aligned, GROUP_ENTRIES, GROUPS, MAX_GROUPS, reserve } from './memory';

/** Bytes of a group: kind, a, b, index in the table, number of records, two counts, index of its next record, three more counts, one unused (i32 each). */
const GROUP_BYTES: usize = 48;
/** Byte offset of the first count of a group. */
export const FIRST_COUNT: usize = 20;
/** Byte offset of the second count of a group. */
export const SECOND_COUNT: usize = 24;
/** Byte offset of the third count of a group. */
export const THIRD_COUNT: usize = 32;
/** Byte offset of the fourth count of a group. */
export const FOURTH_COUNT: usize = 36;
/** Byte offset of the fifth count of a group. */
export const FIFTH_COUNT: usize = 40;
const MASK: u32 = 2 * MAX_GROUPS - 1;

let groups: i32 = 0;
let lastGroup: usize = 0;
let first: usize = 0;
let end: usize = 0;
let each: usize = 0;
let records: i32 = 0;

/** Removes all groups. Records are written from address `at` on: four bytes for their group, then `size` bytes each. */
export function beginRecords(at: usize, size: usize): void {
  for (let g = 0; g < groups; g++) {
    const place = <usize>load<u32>(GROUPS + <usize>g * GROUP_BYTES, 12);
    store<i32>(GROUP_ENTRIES + (place << 2), 0);
  }
  groups = 0;
  lastGroup = 0;
  first = aligned(at);
  end = first;
  each = size + 4;
  records = 0;
}

/** Address of the group of a kind (0 or 1) and of one or two passes; 0 where there are too many groups. */
export function groupOf(kind: i32, a: i32, b: i32): usize {
  if (lastGroup != 0 && load<i32>(lastGroup, 8) == b && load<i32>(lastGroup, 4) == a && load<i32>(lastGroup) == kind) return lastGroup;
  const key = i32x4.replace_lane(i32x4.replace_lane(i32x4.replace_lane(i32x4.splat(0), 0, kind), 1, a), 2, b);
  let at = hash(key) & MASK;
  let number = load<i32>(GROUP_ENTRIES + (<usize>at << 2));
  while (number != 0) {
    const known = GROUPS + <usize>(number - 1) * GROUP_BYTES;
    if (load<i32>(known, 8) == b && load<i32>(known, 4) == a && load<i32>(known) == kind) {
      lastGroup = known;
      return known;
    }
    at = (at + 1) & MASK;
    number = load<i32>(GROUP_ENTRIES + (<usize>at << 2));
  }
  if (groups == MAX_GROUPS) return 0;
  lastGroup = GROUPS + <usize>groups * GROUP_BYTES;
  groups++;
  store<i32>(GROUP_ENTRIES + (<usize>at << 2), groups);
  v128.store(lastGroup, i32x4.replace_lane(key, 3, at));
  v128.store(lastGroup, i64x2.splat(0), 16);
  v128.store(lastGroup, i64x2.splat(0), 32);
  return lastGroup;
}

/** Adds to a count of a group; `offset` is one of FIRST_COUNT to FIFTH_COUNT. */
// @ts-ignore: decorator
@inline
export function count(group: usize, offset: usize, by: i32 = 1): void {
  store<i32>(group + offset, load<i32>(group + offset) + by);
}

/** Address of a new record of a group; 0 where memory is short. */
export function recordOf(group: usize): usize {
  if (!reserve(end + each)) return 0;
  store<u32>(end, <u32>((group - GROUPS) / GROUP_BYTES));
  store<i32>(group, load<i32>(group, 16) + 1, 16);
  records++;
  end += each;
  return end - each + 4;
}

/**
 * Makes room for the columns behind the records and computes for each group the index of its first record in the columns.
 * @returns address of the room; 0 where memory is short
 */
export function roomForColumns(bytes: usize): usize {
  const at = aligned(end);
  if (!reserve(at + bytes)) return 0;
  let ofFirst = 0;
  let ofSecond = 0;
  for (let g = 0; g < groups; g++) {
    const group = GROUPS + <usize>g * GROUP_BYTES;
    const n = load<i32>(group, 16);
    if (load<i32>(group) == 0) {
      store<i32>(group, ofFirst, 28);
      ofFirst += n;
    } else {
      store<i32>(group, ofSecond, 28);
      ofSecond += n;
    }
  }
  return at;
}

/** Number of records of all groups. */
export function recordCount(): i32 {
  return records;
}

/** Address of record number i. */
// @ts-ignore: decorator
@inline
export function recordAt(i: i32): usize {
  return first + <usize>i * each + 4;
}

/** Address of the group of a record. */
// @ts-ignore: decorator
@inline
export function groupAt(record: usize): usize {
  return GROUPS + <usize>load<u32>(record - 4) * GROUP_BYTES;
}

/** Index in the columns for the next record of a group. */
// @ts-ignore: decorator
@inline
export function nextIndex(group: usize): usize {
  const place = load<i32>(group, 28);
  store<i32>(group, place + 1, 28);
  return <usize>place;
}

/** Number of groups. */
export function groupCount(): i32 {
  return groups;
}

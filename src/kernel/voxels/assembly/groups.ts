// What a visit finds goes to records, one after the other, each of a group; in the end they are sorted by group into columns.
import { hash } from '../../assembly/hash';
import { aligned, GROUP_ENTRIES, GROUPS, MOST_GROUPS, reserve } from './memory';

/** Bytes of a group: kind, a, b, place in the table, records, two tallies, and where its next record goes (i32). */
const GROUP: usize = 32;
export const TALLY: usize = 20;
export const SECOND_TALLY: usize = 24;
const MASK: u32 = 2 * MOST_GROUPS - 1;

let groups: i32 = 0;
let lately: usize = 0;
let first: usize = 0;
let end: usize = 0;
let each: usize = 0;
let records: i32 = 0;

/** Forgets all groups; records will be of so many bytes behind four that tell their group, and go where there is room. */
export function beginRecords(at: usize, size: usize): void {
  for (let g = 0; g < groups; g++) {
    const place = <usize>load<u32>(GROUPS + <usize>g * GROUP, 12);
    store<i32>(GROUP_ENTRIES + (place << 2), 0);
  }
  groups = 0;
  lately = 0;
  first = aligned(at);
  end = first;
  each = size + 4;
  records = 0;
}

/** The group of a kind, 0 or 1, of one or two passes; 0 where there are too many. */
export function groupOf(kind: i32, a: i32, b: i32): usize {
  if (lately != 0 && load<i32>(lately, 8) == b && load<i32>(lately, 4) == a && load<i32>(lately) == kind) return lately;
  const key = i32x4.replace_lane(i32x4.replace_lane(i32x4.replace_lane(i32x4.splat(0), 0, kind), 1, a), 2, b);
  let at = hash(key) & MASK;
  let number = load<i32>(GROUP_ENTRIES + (<usize>at << 2));
  while (number != 0) {
    const known = GROUPS + <usize>(number - 1) * GROUP;
    if (load<i32>(known, 8) == b && load<i32>(known, 4) == a && load<i32>(known) == kind) {
      lately = known;
      return known;
    }
    at = (at + 1) & MASK;
    number = load<i32>(GROUP_ENTRIES + (<usize>at << 2));
  }
  if (groups == MOST_GROUPS) return 0;
  lately = GROUPS + <usize>groups * GROUP;
  groups++;
  store<i32>(GROUP_ENTRIES + (<usize>at << 2), groups);
  v128.store(lately, i32x4.replace_lane(key, 3, at));
  v128.store(lately, i64x2.splat(0), 16);
  return lately;
}

/** One more, of two tallies that a group has. */
// @ts-ignore: decorator
@inline
export function count(group: usize, tally: usize): void {
  store<i32>(group + tally, load<i32>(group + tally) + 1);
}

/** Where a new record of a group goes; 0 where there is not memory enough. */
export function recordOf(group: usize): usize {
  if (!reserve(end + each)) return 0;
  store<u32>(end, <u32>((group - GROUPS) / GROUP));
  store<i32>(group, load<i32>(group, 16) + 1, 16);
  records++;
  end += each;
  return end - each + 4;
}

/**
 * Makes room behind the records, and says where in the columns of its kind the records of each group begin.
 * @returns where the room begins; 0 where there is not memory enough
 */
export function roomForColumns(bytes: usize): usize {
  const at = aligned(end);
  if (!reserve(at + bytes)) return 0;
  let ofFirst = 0;
  let ofSecond = 0;
  for (let g = 0; g < groups; g++) {
    const group = GROUPS + <usize>g * GROUP;
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

/** Number of records in all. */
export function recordCount(): i32 {
  return records;
}

/** Record number i. */
// @ts-ignore: decorator
@inline
export function recordAt(i: i32): usize {
  return first + <usize>i * each + 4;
}

/** The group of a record. */
// @ts-ignore: decorator
@inline
export function groupAt(record: usize): usize {
  return GROUPS + <usize>load<u32>(record - 4) * GROUP;
}

/** Where in its columns the next record of a group goes. */
// @ts-ignore: decorator
@inline
export function nextPlace(group: usize): usize {
  const place = load<i32>(group, 28);
  store<i32>(group, place + 1, 28);
  return <usize>place;
}

/** How many groups there are. */
export function groupCount(): i32 {
  return groups;
}

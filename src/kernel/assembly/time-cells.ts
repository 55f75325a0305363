import { hash } from './hash';
import { cellOf, inBits } from './whole';

/** Cells of a block stand row by row, 16 bytes each: earliest time, its sign turned, and latest. So both only grow. */
const SHIFT = 2;
const BLOCK: usize = 16 << (2 * SHIFT);
const UNSEEN: f64 = -Infinity;
/** Four points that all count, as their bytes stand. */
const ALL_LIVE: u32 = 0x01010101;
const WITHIN = (1 << SHIFT) - 1;
const CELLS = 1 << (2 * SHIFT);

// Keys of blocks, 16 bytes each: column, row, pass, 0; the blocks, and how many there is room for; the hash table, 0 or number
// of a block; how many blocks there are.
let keys: usize = 0;
let blocks: usize = 0;
let most: i32 = 0;
let entries: usize = 0;
let mask: u32 = 0;
let have: i32 = 0;
/** Blocks that were handed on. */
let taken: i32 = 0;

// The block that the points are in.
let blockColumn: i32 = 0;
let blockRow: i32 = 0;
let blockPass: i32 = 0;
let block: usize = 0;

/**
 * Tells where blocks are kept.
 * @param at the blocks; `heads`: their keys; `room`: how many there is room for
 * @param table hash table, all 0; `size`: its entries, a power of two
 */
export function prepareTimes(at: usize, heads: usize, room: i32, table: usize, size: i32): void {
  blocks = at;
  keys = heads;
  most = room;
  entries = table;
  mask = <u32>size - 1;
  have = 0;
  block = 0;
}

/**
 * Earliest and latest time of each pass in square cells of edge `side`. Times that are not a finite number are left out.
 * Nothing jumps by the cell a point is in, for noise throws neighbours to and fro between two of them.
 * @param valid 0 for a point that does not count, else 1
 * @returns how many points were taken: fewer than there are when there is no room for one more block
 */
export function timeCells(
  east: usize,
  north: usize,
  pass: usize,
  valid: usize,
  time: usize,
  count: i32,
  side: f64,
): i32 {
  const inverse = f64x2.splat(1 / side);
  const within = i32x4.splat(WITHIN);
  for (let i = 0; i < count; i += 4, east += 32, north += 32, pass += 16, valid += 4, time += 32) {
    const columns = inBits(cellOf(v128.load(east), inverse), cellOf(v128.load(east, 16), inverse));
    const rows = inBits(cellOf(v128.load(north), inverse), cellOf(v128.load(north, 16), inverse));
    const slots = i32x4.shl(
      v128.or(i32x4.shl(v128.and(rows, within), SHIFT), v128.and(columns, within)),
      4,
    );
    const others = v128.or(
      v128.or(
        v128.xor(i32x4.shr_s(columns, SHIFT), i32x4.splat(blockColumn)),
        v128.xor(i32x4.shr_s(rows, SHIFT), i32x4.splat(blockRow)),
      ),
      v128.xor(v128.load(pass), i32x4.splat(blockPass)),
    );
    const near = v128.load(time);
    const far = v128.load(time, 16);
    // A number less itself is 0, unless it is none or without end.
    const finite = v128.or(f64x2.sub(near, near), f64x2.sub(far, far));
    if (
      block != 0 &&
      i + 4 <= count &&
      load<u32>(valid) == ALL_LIVE &&
      !v128.any_true(v128.or(others, finite))
    ) {
      see(block + <usize>i32x4.extract_lane(slots, 0), load<f64>(time));
      see(block + <usize>i32x4.extract_lane(slots, 1), load<f64>(time, 8));
      see(block + <usize>i32x4.extract_lane(slots, 2), load<f64>(time, 16));
      see(block + <usize>i32x4.extract_lane(slots, 3), load<f64>(time, 24));
      continue;
    }
    const last = min(4, count - i);
    for (let k = 0; k < last; k++) {
      const own = <usize>k;
      const t = load<f64>(time + (own << 3));
      if (load<u8>(valid + own) == 0 || t - t != 0) continue;
      const c = lane(columns, k);
      const r = lane(rows, k);
      if (!enter(c >> SHIFT, r >> SHIFT, load<i32>(pass + (own << 2)))) return i + k;
      see(block + <usize>((((r & WITHIN) << SHIFT) | (c & WITHIN)) << 4), t);
    }
  }
  return count;
}

// @ts-ignore: decorator
@inline
function see(cell: usize, t: f64): void {
  // There are two zeros; with one more added there is one, and no order shows.
  const times = v128.xor(f64x2.splat(t + 0), f64x2(-0.0, 0));
  v128.store(cell, f64x2.pmax(v128.load(cell), times));
}

function lane(words: v128, k: i32): i32 {
  if (k == 0) return i32x4.extract_lane(words, 0);
  if (k == 1) return i32x4.extract_lane(words, 1);
  if (k == 2) return i32x4.extract_lane(words, 2);
  return i32x4.extract_lane(words, 3);
}

/** Goes to a block, which is made if it is new. @returns false where there is no room for it */
function enter(column: i32, row: i32, pass: i32): bool {
  if (block != 0 && column == blockColumn && row == blockRow && pass == blockPass) return true;
  const key = i32x4.replace_lane(i32x4.replace_lane(i32x4.replace_lane(i32x4.splat(0), 0, column), 1, row), 2, pass);
  let at = hash(key) & mask;
  let number = load<i32>(entries + (<usize>at << 2));
  while (number != 0 && !i32x4.all_true(i32x4.eq(v128.load(keys + (<usize>(number - 1) << 4)), key))) {
    at = (at + 1) & mask;
    number = load<i32>(entries + (<usize>at << 2));
  }
  if (number == 0) {
    if (have == most) return false;
    v128.store(keys + (<usize>have << 4), key);
    have++;
    number = have;
    store<i32>(entries + (<usize>at << 2), number);
    empty(blocks + <usize>(number - 1) * BLOCK);
  }
  block = blocks + <usize>(number - 1) * BLOCK;
  blockColumn = column;
  blockRow = row;
  blockPass = pass;
  return true;
}

function empty(from: usize): void {
  const unseen = f64x2.splat(UNSEEN);
  for (let cell = from; cell < from + BLOCK; cell += 16) v128.store(cell, unseen);
}

/**
 * Cells that were seen, as many as there is room for, and what was handed on before left out: column, row, pass, 0 (i32),
 * earliest and latest time (f64). @returns how many; 0 when there are no more
 */
export function takeTimes(to: usize, room: i32): i32 {
  let count = 0;
  for (; taken < have; taken++) {
    if (count + CELLS > room) return count;
    const key = v128.load(keys + (<usize>taken << 4));
    const first = i32x4.shl(i32x4.replace_lane(key, 2, 0), SHIFT);
    const pass = i32x4.extract_lane(key, 2);
    const from = blocks + <usize>taken * BLOCK;
    for (let k = 0; k < CELLS; k++) {
      const times = v128.load(from + (<usize>k << 4));
      if (f64x2.extract_lane(times, 1) == UNSEEN) continue;
      const record = to + (<usize>count << 5);
      store<i32>(record, i32x4.extract_lane(first, 0) + (k & WITHIN));
      store<i32>(record, i32x4.extract_lane(first, 1) + (k >> SHIFT), 4);
      store<i32>(record, pass, 8);
      store<i32>(record, 0, 12);
      store<f64>(record, -f64x2.extract_lane(times, 0), 16);
      store<f64>(record, f64x2.extract_lane(times, 1), 24);
      count++;
    }
  }
  return count;
}

/** Forgets all blocks. */
export function forgetTimes(): void {
  for (let at: u32 = 0; at <= mask; at++) store<i32>(entries + (<usize>at << 2), 0);
  have = 0;
  taken = 0;
  block = 0;
}

import { hash } from './hash';
import { cellOf, toInt32 } from './whole';

/**
 * A block has 4 x 4 cells, row by row, 16 bytes each: minus the earliest time and the latest time (f64, seconds). With the
 * sign changed, both are updated by a maximum.
 */
const SHIFT = 2;
const BLOCK_BYTES: usize = 16 << (2 * SHIFT);
const UNSEEN: f64 = -Infinity;
/** The `valid` bytes of four points that are all valid. */
const ALL_VALID: u32 = 0x01010101;
const WITHIN = (1 << SHIFT) - 1;
const CELLS = 1 << (2 * SHIFT);

// Address of the block keys, 16 bytes each (column, row, pass, 0; i32), of the blocks, and the number of blocks there is
// room for; address of the hash table (0 or the number of a block, from 1) and its size minus one; number of blocks.
let keys: usize = 0;
let blocks: usize = 0;
let maxBlocks: i32 = 0;
let entries: usize = 0;
let mask: u32 = 0;
let blockCount: i32 = 0;
/** Blocks already copied out by `copyTimeCells`. */
let copied: i32 = 0;

// Key and address of the current block; address 0 for none.
let blockColumn: i32 = 0;
let blockRow: i32 = 0;
let blockPass: i32 = 0;
let block: usize = 0;

/**
 * Sets the memory that blocks are kept in.
 * @param at address of the blocks, 256 bytes each; `heads`: of their keys; `room`: number of blocks there is room for
 * @param table address of the hash table (i32, all 0); `size`: number of its entries, a power of two
 */
export function prepareTimeCells(at: usize, heads: usize, room: i32, table: usize, size: i32): void {
  blocks = at;
  keys = heads;
  maxBlocks = room;
  entries = table;
  mask = <u32>size - 1;
  blockCount = 0;
  block = 0;
}

/**
 * Earliest and latest time of each pass in square cells of edge `side`, world units. Times that are not finite are left out.
 * In the common case no branch depends on the cell of a point: such a branch would often be mispredicted, because range
 * noise alternates neighbouring points between two cells.
 * @param valid address of u8 flags: 1 for a valid point, else 0
 * @param time address of the times (f64, seconds)
 * @returns number of points processed: below `count` when there is no room for another block
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
    const columns = toInt32(cellOf(v128.load(east), inverse), cellOf(v128.load(east, 16), inverse));
    const rows = toInt32(cellOf(v128.load(north), inverse), cellOf(v128.load(north, 16), inverse));
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
    // t - t is 0 for a finite t, and NaN otherwise.
    const finite = v128.or(f64x2.sub(near, near), f64x2.sub(far, far));
    if (
      block != 0 &&
      i + 4 <= count &&
      load<u32>(valid) == ALL_VALID &&
      !v128.any_true(v128.or(others, finite))
    ) {
      extend(block + <usize>i32x4.extract_lane(slots, 0), load<f64>(time));
      extend(block + <usize>i32x4.extract_lane(slots, 1), load<f64>(time, 8));
      extend(block + <usize>i32x4.extract_lane(slots, 2), load<f64>(time, 16));
      extend(block + <usize>i32x4.extract_lane(slots, 3), load<f64>(time, 24));
      continue;
    }
    const last = min(4, count - i);
    for (let k = 0; k < last; k++) {
      const own = <usize>k;
      const t = load<f64>(time + (own << 3));
      if (load<u8>(valid + own) == 0 || t - t != 0) continue;
      const c = lane(columns, k);
      const r = lane(rows, k);
      if (!selectBlock(c >> SHIFT, r >> SHIFT, load<i32>(pass + (own << 2)))) return i + k;
      extend(block + <usize>((((r & WITHIN) << SHIFT) | (c & WITHIN)) << 4), t);
    }
  }
  return count;
}

// @ts-ignore: decorator
@inline
function extend(cell: usize, t: f64): void {
  // Adding 0 turns -0 into +0, so that the result does not depend on the order of the points.
  const times = v128.xor(f64x2.splat(t + 0), f64x2(-0.0, 0));
  v128.store(cell, f64x2.pmax(v128.load(cell), times));
}

function lane(words: v128, k: i32): i32 {
  if (k == 0) return i32x4.extract_lane(words, 0);
  if (k == 1) return i32x4.extract_lane(words, 1);
  if (k == 2) return i32x4.extract_lane(words, 2);
  return i32x4.extract_lane(words, 3);
}

/** Makes a block the current one; a new block is created if needed. @returns false where there is no room for it */
function selectBlock(column: i32, row: i32, pass: i32): bool {
  if (block != 0 && column == blockColumn && row == blockRow && pass == blockPass) return true;
  const key = i32x4.replace_lane(i32x4.replace_lane(i32x4.replace_lane(i32x4.splat(0), 0, column), 1, row), 2, pass);
  let at = hash(key) & mask;
  let number = load<i32>(entries + (<usize>at << 2));
  while (number != 0 && !i32x4.all_true(i32x4.eq(v128.load(keys + (<usize>(number - 1) << 4)), key))) {
    at = (at + 1) & mask;
    number = load<i32>(entries + (<usize>at << 2));
  }
  if (number == 0) {
    if (blockCount == maxBlocks) return false;
    v128.store(keys + (<usize>blockCount << 4), key);
    blockCount++;
    number = blockCount;
    store<i32>(entries + (<usize>at << 2), number);
    empty(blocks + <usize>(number - 1) * BLOCK_BYTES);
  }
  block = blocks + <usize>(number - 1) * BLOCK_BYTES;
  blockColumn = column;
  blockRow = row;
  blockPass = pass;
  return true;
}

function empty(from: usize): void {
  const unseen = f64x2.splat(UNSEEN);
  for (let cell = from; cell < from + BLOCK_BYTES; cell += 16) v128.store(cell, unseen);
}

/**
 * Copies cells that have a time and were not copied before to `to`, at most `room` of them. Record of 32 bytes: column,
 * row, pass, 0 (i32), earliest and latest time (f64, seconds).
 * @returns number of cells copied; 0 when there are no more
 */
export function copyTimeCells(to: usize, room: i32): i32 {
  let count = 0;
  for (; copied < blockCount; copied++) {
    if (count + CELLS > room) return count;
    const key = v128.load(keys + (<usize>copied << 4));
    const first = i32x4.shl(i32x4.replace_lane(key, 2, 0), SHIFT);
    const pass = i32x4.extract_lane(key, 2);
    const from = blocks + <usize>copied * BLOCK_BYTES;
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

/** Removes all blocks. */
export function clearTimeCells(): void {
  for (let at: u32 = 0; at <= mask; at++) store<i32>(entries + (<usize>at << 2), 0);
  blockCount = 0;
  copied = 0;
  block = 0;
}

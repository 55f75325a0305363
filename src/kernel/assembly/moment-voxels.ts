import { hashes } from './hash';
import { cellOf, toInt32 } from './whole';

/**
 * Bytes of a voxel in the small form: column, row, level, pass (i32), then the sums x y z n | xx yy zz n | xy yz zx n (u32).
 * Four sums are added by one SIMD instruction. A voxel fills one 64-byte cache line.
 */
const VOXEL_BYTES: usize = 64;

/** Points processed at a time, so that their keys and offsets stay in the first-level cache. */
const BATCH: i32 = 256;
const keys = memory.data(4096, 16);
const within = memory.data(4096, 16);
const slots = memory.data(1024, 16);

// Number of voxels, their address, and the hash table that finds them; set by `momentVoxels`.
let voxelCount: i32 = 0;
let voxels: usize = 0;
let table: usize = 0;
let mask: u32 = 0;
let tableIndexes: usize = 0;

/**
 * Sums points by voxel and pass: number of points, sums of the coordinates from the voxel's lower corner, and sums of their
 * products. Sums are exact integers. When a voxel holds as many points as its sums can take, a new voxel with the same key
 * is appended.
 *
 * Points are processed in batches: first all keys are computed, then all sums are added without a branch on the voxel. Such
 * a branch is data-dependent and often mispredicted (range noise alternates neighbouring points between two voxels), and
 * a misprediction costs more than all sums of a point.
 *
 * @param east address of the eastings (f64); `north`, `up` alike; read four at a time
 * @param pass address of the passes (i32); no pass may be the smallest i32
 * @param valid address of u8 flags: 0 for a point that is not counted
 * @param side edge of a voxel in quanta, below 2^16
 * @param quantum coordinates are divided by it and rounded first; 1 for no division
 * @param known number of voxels from earlier calls
 * @param at address of the voxels; the first 64 bytes are a dummy voxel
 * @param entries address of the hash table (u32): 0 or the number of a voxel, from 1
 * @param bits number of table entries minus one; the number is a power of two and at least twice the number of voxels
 * @param indexes address of one u32 a voxel: its index in the table, used to clear the table
 * @returns number of voxels after the call
 */
export function momentVoxels(
  east: usize,
  north: usize,
  up: usize,
  pass: usize,
  valid: usize,
  count: i32,
  side: f64,
  quantum: f64,
  known: i32,
  at: usize,
  entries: usize,
  bits: u32,
  indexes: usize,
): i32 {
  voxelCount = known;
  voxels = at;
  table = entries;
  mask = bits;
  tableIndexes = indexes;
  // Table entry 0 means empty and points to this dummy voxel, whose key no point has.
  v128.store(voxels, i32x4.splat(i32.MIN_VALUE));
  // With at most this many points the 32-bit sums cannot overflow.
  const most = min<u32>(0x40000000, <u32>(<f64>u32.MAX_VALUE / (side * side)));
  for (let from = 0; from < count; from += BATCH) {
    const n = min(BATCH, count - from);
    const eights = <usize>from << 3;
    computeKeys(east + eights, north + eights, up + eights, pass + (<usize>from << 2), n, side, quantum);
    addBatch(valid + from, n, most);
  }
  return voxelCount;
}

/** Computes for each point its key, its offset in the voxel and its first table index. Reads four points at a time. */
function computeKeys(east: usize, north: usize, up: usize, pass: usize, count: i32, side: f64, quantum: f64): void {
  const sides = f64x2.splat(side);
  const inverse = f64x2.splat(1 / side);
  const one = i32x4.splat(1);
  const masks = i32x4.splat(mask);
  for (let i: usize = 0; i < <usize>count; i += 4, east += 32, north += 32, up += 32, pass += 16) {
    const xNear = inQuanta(v128.load(east), quantum);
    const xFar = inQuanta(v128.load(east, 16), quantum);
    const yNear = inQuanta(v128.load(north), quantum);
    const yFar = inQuanta(v128.load(north, 16), quantum);
    const zNear = inQuanta(v128.load(up), quantum);
    const zFar = inQuanta(v128.load(up, 16), quantum);
    const xNearCell = cellOf(xNear, inverse);
    const xFarCell = cellOf(xFar, inverse);
    const yNearCell = cellOf(yNear, inverse);
    const yFarCell = cellOf(yFar, inverse);
    const zNearCell = cellOf(zNear, inverse);
    const zFarCell = cellOf(zFar, inverse);
    const columns = toInt32(xNearCell, xFarCell);
    const rows = toInt32(yNearCell, yFarCell);
    const levels = toInt32(zNearCell, zFarCell);
    const own = v128.load(pass);
    v128.store(slots + (i << 2), v128.and(hashes(columns, rows, levels, own), masks));
    storeTransposed(keys + (i << 4), columns, rows, levels, own);
    const x = toInt32(offsetInCell(xNear, xNearCell, sides), offsetInCell(xFar, xFarCell, sides));
    const y = toInt32(offsetInCell(yNear, yNearCell, sides), offsetInCell(yFar, yFarCell, sides));
    const z = toInt32(offsetInCell(zNear, zNearCell, sides), offsetInCell(zFar, zFarCell, sides));
    storeTransposed(within + (i << 4), x, y, z, one);
  }
}

/** Two coordinates divided by the quantum and rounded. */
// @ts-ignore: decorator
@inline
function inQuanta(v: v128, quantum: f64): v128 {
  if (quantum == 1) return v;
  const first = Math.round(f64x2.extract_lane(v, 0) / quantum);
  return f64x2.replace_lane(f64x2.splat(first), 1, Math.round(f64x2.extract_lane(v, 1) / quantum));
}

// @ts-ignore: decorator
@inline
function offsetInCell(v: v128, cell: v128, sides: v128): v128 {
  return f64x2.sub(v, f64x2.mul(cell, sides));
}

/** Transposes: stores four vectors of four i32 column by column. */
// @ts-ignore: decorator
@inline
function storeTransposed(to: usize, a: v128, b: v128, c: v128, d: v128): void {
  const abNear = i32x4.shuffle(a, b, 0, 4, 1, 5);
  const cdNear = i32x4.shuffle(c, d, 0, 4, 1, 5);
  const abFar = i32x4.shuffle(a, b, 2, 6, 3, 7);
  const cdFar = i32x4.shuffle(c, d, 2, 6, 3, 7);
  v128.store(to, i64x2.shuffle(abNear, cdNear, 0, 2));
  v128.store(to, i64x2.shuffle(abNear, cdNear, 1, 3), 16);
  v128.store(to, i64x2.shuffle(abFar, cdFar, 0, 2), 32);
  v128.store(to, i64x2.shuffle(abFar, cdFar, 1, 3), 48);
}

/** Adds the points of a batch whose keys have been computed. */
function addBatch(valid: usize, count: i32, most: u32): void {
  const entries = table;
  const none = voxels;
  for (let i: usize = 0; i < <usize>count; i++) {
    if (load<u8>(valid + i) == 0) continue;
    const key = v128.load(keys + (i << 4));
    const slot = load<u32>(slots + (i << 2));
    let voxel = none + <usize>load<u32>(entries + (<usize>slot << 2)) * VOXEL_BYTES;
    if (v128.any_true(v128.xor(v128.load(voxel), key))) voxel = findOrMake(key, slot);
    if (load<u32>(voxel, 28) == most) voxel = startAnother(voxel);
    const position = v128.load(within + (i << 4));
    const rotated = i32x4.shuffle(position, position, 1, 2, 0, 3);
    v128.store(voxel, i32x4.add(v128.load(voxel, 16), position), 16);
    v128.store(voxel, i32x4.add(v128.load(voxel, 32), i32x4.mul(position, position)), 32);
    v128.store(voxel, i32x4.add(v128.load(voxel, 48), i32x4.mul(position, rotated)), 48);
  }
}

/** The voxel of a key whose first table entry belongs to another key; made if there is none. */
function findOrMake(key: v128, from: u32): usize {
  let at = from;
  let number = load<u32>(table + (<usize>at << 2));
  while (number != 0) {
    const voxel = voxels + <usize>number * VOXEL_BYTES;
    if (i32x4.all_true(i32x4.eq(v128.load(voxel), key))) return voxel;
    at = (at + 1) & mask;
    number = load<u32>(table + (<usize>at << 2));
  }
  return make(key, at);
}

/** Makes an empty voxel with the key of a full one; the table now points to the new voxel. */
function startAnother(full: usize): usize {
  const number = (full - voxels) / VOXEL_BYTES;
  return make(v128.load(full), load<u32>(tableIndexes + ((number - 1) << 2)));
}

function make(key: v128, at: u32): usize {
  store<u32>(tableIndexes + (<usize>voxelCount << 2), at);
  voxelCount++;
  store<i32>(table + (<usize>at << 2), voxelCount);
  const voxel = voxels + <usize>voxelCount * VOXEL_BYTES;
  const none = i64x2.splat(0);
  v128.store(voxel, key);
  v128.store(voxel, none, 16);
  v128.store(voxel, none, 32);
  v128.store(voxel, none, 48);
  return voxel;
}

/** Clears the table entries of `known` voxels. */
export function clearVoxels(known: i32, entries: usize, indexes: usize): void {
  for (let i = 0; i < known; i++) store<i32>(entries + (<usize>load<u32>(indexes + (<usize>i << 2)) << 2), 0);
}

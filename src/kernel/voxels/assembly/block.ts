import {
  aligned,
  SMALL_BYTES,
  SUB_VOXEL_HEADS,
  SUB_VOXELS_WIDE,
  FREE,
  INPUT,
  MAX_PASSES,
  NEXT,
  PASSES,
  RECORD_BYTES,
  reserve,
  VOXEL_HEADS,
  VOXEL_HEADS_BYTES,
  VOXELS_WIDE,
  WIDE_BYTES,
} from './memory';
import { entriesFor, find, prepare, Table } from './table';

const subVoxels = changetype<Table>(memory.data(16));
const voxels = changetype<Table>(memory.data(16));

// Column and row of the block, and the edge of a sub-voxel in quanta.
export let blockColumn: i32 = 0;
export let blockRow: i32 = 0;
export let side: f64 = 0;
/** Address of a list of record addresses (u32): room for the longest chain. */
export let list: usize = 0;
/** Address of scratch memory behind the list: 160 bytes a pass. */
export let scratch: usize = 0;
/** Address behind the scratch memory: from here on memory is free. */
export let free: usize = 0;
const SCRATCH_BYTES_PER_PASS: usize = 160;

/** Passes of the sub-voxels, in the order in which they were first met. */
let passes: i32 = 0;
let lastPass: i32 = 0;

/**
 * Makes room for a block.
 * @param column column of the block, `row`: its row
 * @param edge edge of a sub-voxel in quanta
 * @param most largest number of sub-voxels that will be added
 * @returns false where memory is short
 */
export function openBlock(column: i32, row: i32, edge: f64, most: i32): bool {
  blockColumn = column;
  blockRow = row;
  side = edge;
  const size = entriesFor(most);
  const records = aligned(FREE + (<usize>size << 2));
  if (!reserve(records + <usize>most * RECORD_BYTES)) return false;
  prepare(subVoxels, FREE, size, records);
  passes = 0;
  return true;
}

/** Number of passes stored at PASSES (i32 each); MAX_PASSES + 1 where there were more. */
export function passCount(): i32 {
  return passes;
}

function addPass(pass: i32): void {
  if (passes > 0 && pass == lastPass) return;
  lastPass = pass;
  const known = min(passes, MAX_PASSES);
  for (let i = 0; i < known; i++) if (load<i32>(PASSES + (<usize>i << 2)) == pass) return;
  if (passes < MAX_PASSES) store<i32>(PASSES + (<usize>passes << 2), pass);
  passes = min(passes + 1, MAX_PASSES + 1);
}

/** Adds `count` sub-voxels in the small form from INPUT; equal keys are summed. @returns largest number of points in one */
export function addSmall(count: i32): f64 {
  let most: f64 = 0;
  for (let from = INPUT, end = INPUT + <usize>count * SMALL_BYTES; from < end; from += SMALL_BYTES) {
    addPass(load<i32>(from, 12));
    const record = find(subVoxels, v128.load(from));
    const firsts = v128.load(from, 16);
    const squares = v128.load(from, 32);
    const products = v128.load(from, 48);
    // n x | y z | xx xy | xz yy | yz zz
    addWords(record + 16, i32x4.shuffle(firsts, firsts, 3, 0, 0, 0));
    addWords(record + 32, i32x4.shuffle(firsts, firsts, 1, 2, 0, 0));
    addWords(record + 48, i32x4.shuffle(squares, products, 0, 4, 0, 0));
    addWords(record + 64, i32x4.shuffle(squares, products, 6, 1, 0, 0));
    addWords(record + 80, i32x4.shuffle(squares, products, 5, 2, 0, 0));
    most = max(most, load<f64>(record, 16));
  }
  return most;
}

/** Adds two u32 to two f64. */
// @ts-ignore: decorator
@inline
function addWords(at: usize, words: v128): void {
  v128.store(at, f64x2.add(v128.load(at), f64x2.convert_low_i32x4_u(words)));
}

/** As addSmall, for sub-voxels in the wide form. */
export function addWide(count: i32): f64 {
  let most: f64 = 0;
  for (let from = INPUT, end = INPUT + <usize>count * WIDE_BYTES; from < end; from += WIDE_BYTES) {
    addPass(load<i32>(from, 12));
    const record = find(subVoxels, v128.load(from));
    for (let k: usize = 16; k < WIDE_BYTES; k += 16) {
      v128.store(record + k, f64x2.add(v128.load(record + k), v128.load(from + k)));
    }
    most = max(most, load<f64>(record, 16));
  }
  return most;
}

/**
 * Sums the sub-voxels to voxels that are two sub-voxels wide and start in the block: in the first lattice at even
 * sub-voxels, in the second at odd ones. Voxels of the same column and row are linked to a chain, and so are the block's own
 * sub-voxels.
 * @returns false where memory is short
 */
export function makeVoxels(): bool {
  const count = subVoxels.count;
  const size = entriesFor(count);
  const behind = subVoxels.records + <usize>count * RECORD_BYTES;
  memory.fill(SUB_VOXEL_HEADS, 0, FREE - SUB_VOXEL_HEADS);
  let records = aligned(behind + (<usize>size << 2));
  // Neither a lattice nor a chain can have more voxels than there are sub-voxels.
  const most: usize = 2 * <usize>count * RECORD_BYTES + 4 * <usize>count + SCRATCH_BYTES_PER_PASS * <usize>(passes + 1) + 32;
  if (passes > MAX_PASSES || !reserve(records + most)) return false;
  for (let i = 0; i < count; i++) {
    const subVoxel = subVoxels.records + <usize>i * RECORD_BYTES;
    if (isOwn(load<i32>(subVoxel), load<i32>(subVoxel, 4))) {
      link(subVoxel, SUB_VOXEL_HEADS, load<i32>(subVoxel) & (SUB_VOXELS_WIDE - 1), load<i32>(subVoxel, 4) & (SUB_VOXELS_WIDE - 1), SUB_VOXELS_WIDE);
    }
  }
  for (let lattice = 0; lattice < 2; lattice++) {
    prepare(voxels, behind, size, records);
    for (let i = 0; i < count; i++) addToVoxel(subVoxels.records + <usize>i * RECORD_BYTES, lattice);
    linkVoxels(lattice);
    records += <usize>voxels.count * RECORD_BYTES;
  }
  list = records;
  scratch = aligned(list + 4 * <usize>count);
  free = scratch + SCRATCH_BYTES_PER_PASS * <usize>(passes + 1);
  return true;
}

function isOwn(column: i32, row: i32): bool {
  return column >> 7 == blockColumn && row >> 7 == blockRow;
}

function addToVoxel(subVoxel: usize, lattice: i32): void {
  const column = ((load<i32>(subVoxel) - lattice) & ~1) + lattice;
  const row = ((load<i32>(subVoxel, 4) - lattice) & ~1) + lattice;
  const level = ((load<i32>(subVoxel, 8) - lattice) & ~1) + lattice;
  if (!isOwn(column, row)) return;
  const a = <f64>(load<i32>(subVoxel) - column) * side;
  const b = <f64>(load<i32>(subVoxel, 4) - row) * side;
  const c = <f64>(load<i32>(subVoxel, 8) - level) * side;
  const to = find(voxels, i32x4.replace_lane(i32x4.replace_lane(i32x4.replace_lane(i32x4.splat(load<i32>(subVoxel, 12)), 0, column), 1, row), 2, level));
  const n = load<f64>(subVoxel, 16);
  const sx = load<f64>(subVoxel, 24);
  const sy = load<f64>(subVoxel, 32);
  const sz = load<f64>(subVoxel, 40);
  addTo(to, 16, n);
  addTo(to, 24, sx + n * a);
  addTo(to, 32, sy + n * b);
  addTo(to, 40, sz + n * c);
  addTo(to, 48, load<f64>(subVoxel, 48) + 2 * a * sx + n * a * a);
  addTo(to, 56, load<f64>(subVoxel, 56) + a * sy + b * sx + n * a * b);
  addTo(to, 64, load<f64>(subVoxel, 64) + a * sz + c * sx + n * a * c);
  addTo(to, 72, load<f64>(subVoxel, 72) + 2 * b * sy + n * b * b);
  addTo(to, 80, load<f64>(subVoxel, 80) + b * sz + c * sy + n * b * c);
  addTo(to, 88, load<f64>(subVoxel, 88) + 2 * c * sz + n * c * c);
}

// @ts-ignore: decorator
@inline
function addTo(record: usize, at: usize, by: f64): void {
  store<f64>(record + at, load<f64>(record + at) + by);
}

function linkVoxels(lattice: i32): void {
  const heads = VOXEL_HEADS + <usize>lattice * VOXEL_HEADS_BYTES;
  for (let i = 0; i < voxels.count; i++) {
    const voxel = voxels.records + <usize>i * RECORD_BYTES;
    const x = ((load<i32>(voxel) - lattice) >> 1) & (VOXELS_WIDE - 1);
    const y = ((load<i32>(voxel, 4) - lattice) >> 1) & (VOXELS_WIDE - 1);
    link(voxel, heads, x, y, VOXELS_WIDE);
  }
}

function link(record: usize, heads: usize, x: i32, y: i32, wide: i32): void {
  const head = heads + (<usize>(y * wide + x) << 2);
  store<u32>(record, load<u32>(head), NEXT);
  store<u32>(head, <u32>record);
}

/** Appends the addresses of the records of a chain to `list`, which holds `have` of them. @returns the new number */
export function gather(head: usize, have: i32): i32 {
  for (let record: usize = load<u32>(head); record != 0; record = load<u32>(record, NEXT)) {
    store<u32>(list + (<usize>have << 2), <u32>record);
    have++;
  }
  return have;
}

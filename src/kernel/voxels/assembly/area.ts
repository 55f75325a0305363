import {
  aligned,
  CUBE,
  CUBE_HEADS,
  CUBES_WIDE,
  FREE,
  INPUT,
  MOST_PASSES,
  NEXT,
  PASSES,
  RECORD,
  reserve,
  VOXEL_HEADS,
  VOXEL_HEADS_EACH,
  VOXELS_WIDE,
  WIDE,
} from './memory';
import { entriesFor, find, prepare, Table } from './table';

const cubes = changetype<Table>(memory.data(16));
const voxels = changetype<Table>(memory.data(16));

/** Which area, and the edge of a cube. */
export let areaColumn: i32 = 0;
export let areaRow: i32 = 0;
export let side: f64 = 0;
/** Addresses of the records of a chain: room for the longest there can be. */
export let list: usize = 0;
/** Behind it, room for a hundred and sixty bytes a pass. */
export let besides: usize = 0;
/** Behind that, all memory there is. */
export let free: usize = 0;
const BESIDES_EACH: usize = 160;

/** Passes of the cubes, as they came. */
let passes: i32 = 0;
let passLately: i32 = 0;

/**
 * Makes room for an area.
 * @param most cubes that will come at the most
 * @returns false where there is not memory enough
 */
export function openArea(column: i32, row: i32, edge: f64, most: i32): bool {
  areaColumn = column;
  areaRow = row;
  side = edge;
  const size = entriesFor(most);
  const records = aligned(FREE + (<usize>size << 2));
  if (!reserve(records + <usize>most * RECORD)) return false;
  prepare(cubes, FREE, size, records);
  passes = 0;
  return true;
}

/** How many passes the cubes are of, which stand at PASSES; more than MOST_PASSES where there was no room for them. */
export function passCount(): i32 {
  return passes;
}

function notePass(pass: i32): void {
  if (passes > 0 && pass == passLately) return;
  passLately = pass;
  const known = min(passes, MOST_PASSES);
  for (let i = 0; i < known; i++) if (load<i32>(PASSES + (<usize>i << 2)) == pass) return;
  if (passes < MOST_PASSES) store<i32>(PASSES + (<usize>passes << 2), pass);
  passes = min(passes + 1, MOST_PASSES + 1);
}

/** Adds cubes that stand at INPUT; those of one key and pass become one. @returns the largest number of points in one */
export function addCubes(count: i32): f64 {
  let most: f64 = 0;
  for (let from = INPUT, end = INPUT + <usize>count * CUBE; from < end; from += CUBE) {
    notePass(load<i32>(from, 12));
    const record = find(cubes, v128.load(from));
    const firsts = v128.load(from, 16);
    const squares = v128.load(from, 32);
    const products = v128.load(from, 48);
    // n x | y z | xx xy | xz yy | yz zz
    moreWords(record + 16, i32x4.shuffle(firsts, firsts, 3, 0, 0, 0));
    moreWords(record + 32, i32x4.shuffle(firsts, firsts, 1, 2, 0, 0));
    moreWords(record + 48, i32x4.shuffle(squares, products, 0, 4, 0, 0));
    moreWords(record + 64, i32x4.shuffle(squares, products, 6, 1, 0, 0));
    moreWords(record + 80, i32x4.shuffle(squares, products, 5, 2, 0, 0));
    most = max(most, load<f64>(record, 16));
  }
  return most;
}

/** Adds two words to two numbers. */
// @ts-ignore: decorator
@inline
function moreWords(at: usize, words: v128): void {
  v128.store(at, f64x2.add(v128.load(at), f64x2.convert_low_i32x4_u(words)));
}

/** The same for cubes in the wide form. */
export function addWideCubes(count: i32): f64 {
  let most: f64 = 0;
  for (let from = INPUT, end = INPUT + <usize>count * WIDE; from < end; from += WIDE) {
    notePass(load<i32>(from, 12));
    const record = find(cubes, v128.load(from));
    for (let k: usize = 16; k < WIDE; k += 16) {
      v128.store(record + k, f64x2.add(v128.load(record + k), v128.load(from + k)));
    }
    most = max(most, load<f64>(record, 16));
  }
  return most;
}

/**
 * Sums the cubes to voxels, twice as wide, that start in the area: in the first lattice at even cubes, in the second at odd
 * ones. All over one square of the plan are chained; so are the area's own cubes.
 * @returns false where there is not memory enough
 */
export function makeVoxels(): bool {
  const count = cubes.count;
  const size = entriesFor(count);
  const behind = cubes.records + <usize>count * RECORD;
  memory.fill(CUBE_HEADS, 0, FREE - CUBE_HEADS);
  let records = aligned(behind + (<usize>size << 2));
  // Either lattice has as many voxels as there are cubes at the most; so has a chain.
  const most: usize = 2 * <usize>count * RECORD + 4 * <usize>count + BESIDES_EACH * <usize>(passes + 1) + 32;
  if (passes > MOST_PASSES || !reserve(records + most)) return false;
  for (let i = 0; i < count; i++) {
    const cube = cubes.records + <usize>i * RECORD;
    if (isOwn(load<i32>(cube), load<i32>(cube, 4))) {
      chain(cube, CUBE_HEADS, load<i32>(cube) & (CUBES_WIDE - 1), load<i32>(cube, 4) & (CUBES_WIDE - 1), CUBES_WIDE);
    }
  }
  for (let lattice = 0; lattice < 2; lattice++) {
    prepare(voxels, behind, size, records);
    for (let i = 0; i < count; i++) addToVoxel(cubes.records + <usize>i * RECORD, lattice);
    chainVoxels(lattice);
    records += <usize>voxels.count * RECORD;
  }
  list = records;
  besides = aligned(list + 4 * <usize>count);
  free = besides + BESIDES_EACH * <usize>(passes + 1);
  return true;
}

function isOwn(column: i32, row: i32): bool {
  return column >> 7 == areaColumn && row >> 7 == areaRow;
}

function addToVoxel(cube: usize, lattice: i32): void {
  const column = ((load<i32>(cube) - lattice) & ~1) + lattice;
  const row = ((load<i32>(cube, 4) - lattice) & ~1) + lattice;
  const level = ((load<i32>(cube, 8) - lattice) & ~1) + lattice;
  if (!isOwn(column, row)) return;
  const a = <f64>(load<i32>(cube) - column) * side;
  const b = <f64>(load<i32>(cube, 4) - row) * side;
  const c = <f64>(load<i32>(cube, 8) - level) * side;
  const to = find(voxels, i32x4.replace_lane(i32x4.replace_lane(i32x4.replace_lane(i32x4.splat(load<i32>(cube, 12)), 0, column), 1, row), 2, level));
  const n = load<f64>(cube, 16);
  const sx = load<f64>(cube, 24);
  const sy = load<f64>(cube, 32);
  const sz = load<f64>(cube, 40);
  more(to, 16, n);
  more(to, 24, sx + n * a);
  more(to, 32, sy + n * b);
  more(to, 40, sz + n * c);
  more(to, 48, load<f64>(cube, 48) + 2 * a * sx + n * a * a);
  more(to, 56, load<f64>(cube, 56) + a * sy + b * sx + n * a * b);
  more(to, 64, load<f64>(cube, 64) + a * sz + c * sx + n * a * c);
  more(to, 72, load<f64>(cube, 72) + 2 * b * sy + n * b * b);
  more(to, 80, load<f64>(cube, 80) + b * sz + c * sy + n * b * c);
  more(to, 88, load<f64>(cube, 88) + 2 * c * sz + n * c * c);
}

// @ts-ignore: decorator
@inline
function more(record: usize, at: usize, by: f64): void {
  store<f64>(record + at, load<f64>(record + at) + by);
}

function chainVoxels(lattice: i32): void {
  const heads = VOXEL_HEADS + <usize>lattice * VOXEL_HEADS_EACH;
  for (let i = 0; i < voxels.count; i++) {
    const voxel = voxels.records + <usize>i * RECORD;
    const x = ((load<i32>(voxel) - lattice) >> 1) & (VOXELS_WIDE - 1);
    const y = ((load<i32>(voxel, 4) - lattice) >> 1) & (VOXELS_WIDE - 1);
    chain(voxel, heads, x, y, VOXELS_WIDE);
  }
}

function chain(record: usize, heads: usize, x: i32, y: i32, wide: i32): void {
  const head = heads + (<usize>(y * wide + x) << 2);
  store<u32>(record, load<u32>(head), NEXT);
  store<u32>(head, <u32>record);
}

/** Addresses of the records of a chain go to `list`, behind what is there. @returns how many there are then */
export function gather(head: usize, have: i32): i32 {
  for (let record: usize = load<u32>(head); record != 0; record = load<u32>(record, NEXT)) {
    store<u32>(list + (<usize>have << 2), <u32>record);
    have++;
  }
  return have;
}

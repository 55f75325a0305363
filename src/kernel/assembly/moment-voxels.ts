import { hashes } from './hash';
import { cellOf, inBits } from './whole';

/**
 * Bytes of a cube: column, row, level, pass, then the sums x y z n | xx yy zz n | xy yz zx n, all of 32 bits and those of
 * the sums without sign. Four are added at once, and a cube is one line of the processor's cache.
 */
const CUBE: usize = 64;

/** Points that are taken apart in one go, so that what is found out about them stays in the first cache. */
const PART: i32 = 256;
const keys = memory.data(4096, 16);
const within = memory.data(4096, 16);
const slots = memory.data(1024, 16);

// Cubes known, where they are, and the hash table that finds them again; set by `momentCubes`.
let have: i32 = 0;
let cubes: usize = 0;
let table: usize = 0;
let mask: u32 = 0;
let places: usize = 0;

/**
 * Sums points by cube and pass: count, and sums of the coordinates from the cube's lower corner and of their products.
 * Sums are integers, so they are exact: a cube that has as many points as its sums can hold is begun anew behind the others.
 *
 * Points are taken apart some at a time, and then added without a jump that hangs on where they are: noise throws
 * neighbours to and fro between two cubes, and a jump that is guessed wrong costs more than all the sums of a point.
 *
 * @param pass none may be the smallest of all integers
 * @param valid 0 for a point that does not count
 * @param side edge of a cube, below 2^16; `quantum`: by which coordinates are divided and rounded first, 1 for not at all
 * @param known cubes known from calls before; `at`: where they are, behind room for one
 * @param entries hash table, 0 or number of a cube; `bits`: entries less one, all bits set, at least twice as many as points
 * @param spots for each cube its place in the table, so that it can be emptied again
 * @returns how many cubes there are now
 */
export function momentCubes(
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
  spots: usize,
): i32 {
  have = known;
  cubes = at;
  table = entries;
  mask = bits;
  places = spots;
  // Where the table says 0 there is no cube: a key that no point has.
  v128.store(cubes, i32x4.splat(i32.MIN_VALUE));
  // So many points of a cube cannot overflow.
  const most = min<u32>(0x40000000, <u32>(<f64>u32.MAX_VALUE / (side * side)));
  for (let from = 0; from < count; from += PART) {
    const n = min(PART, count - from);
    const eights = <usize>from << 3;
    takeApart(east + eights, north + eights, up + eights, pass + (<usize>from << 2), n, side, quantum);
    addPart(valid + from, n, most);
  }
  return have;
}

/** Finds the cube of points, their places within, and where in the table to begin looking. Reads four points at a time. */
function takeApart(east: usize, north: usize, up: usize, pass: usize, count: i32, side: f64, quantum: f64): void {
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
    const columns = inBits(xNearCell, xFarCell);
    const rows = inBits(yNearCell, yFarCell);
    const levels = inBits(zNearCell, zFarCell);
    const own = v128.load(pass);
    v128.store(slots + (i << 2), v128.and(hashes(columns, rows, levels, own), masks));
    storeTurned(keys + (i << 4), columns, rows, levels, own);
    const x = inBits(rest(xNear, xNearCell, sides), rest(xFar, xFarCell, sides));
    const y = inBits(rest(yNear, yNearCell, sides), rest(yFar, yFarCell, sides));
    const z = inBits(rest(zNear, zNearCell, sides), rest(zFar, zFarCell, sides));
    storeTurned(within + (i << 4), x, y, z, one);
  }
}

/** Two coordinates divided and rounded. */
// @ts-ignore: decorator
@inline
function inQuanta(v: v128, quantum: f64): v128 {
  if (quantum == 1) return v;
  const first = Math.round(f64x2.extract_lane(v, 0) / quantum);
  return f64x2.replace_lane(f64x2.splat(first), 1, Math.round(f64x2.extract_lane(v, 1) / quantum));
}

// @ts-ignore: decorator
@inline
function rest(v: v128, cell: v128, sides: v128): v128 {
  return f64x2.sub(v, f64x2.mul(cell, sides));
}

/** Stores four columns of four words row by row. */
// @ts-ignore: decorator
@inline
function storeTurned(to: usize, a: v128, b: v128, c: v128, d: v128): void {
  const abNear = i32x4.shuffle(a, b, 0, 4, 1, 5);
  const cdNear = i32x4.shuffle(c, d, 0, 4, 1, 5);
  const abFar = i32x4.shuffle(a, b, 2, 6, 3, 7);
  const cdFar = i32x4.shuffle(c, d, 2, 6, 3, 7);
  v128.store(to, i64x2.shuffle(abNear, cdNear, 0, 2));
  v128.store(to, i64x2.shuffle(abNear, cdNear, 1, 3), 16);
  v128.store(to, i64x2.shuffle(abFar, cdFar, 0, 2), 32);
  v128.store(to, i64x2.shuffle(abFar, cdFar, 1, 3), 48);
}

/** Adds points that were taken apart. */
function addPart(valid: usize, count: i32, most: u32): void {
  const entries = table;
  const none = cubes;
  for (let i: usize = 0; i < <usize>count; i++) {
    if (load<u8>(valid + i) == 0) continue;
    const key = v128.load(keys + (i << 4));
    const slot = load<u32>(slots + (i << 2));
    let cube = none + <usize>load<u32>(entries + (<usize>slot << 2)) * CUBE;
    if (v128.any_true(v128.xor(v128.load(cube), key))) cube = seek(key, slot);
    if (load<u32>(cube, 28) == most) cube = renew(cube);
    const place = v128.load(within + (i << 4));
    const turned = i32x4.shuffle(place, place, 1, 2, 0, 3);
    v128.store(cube, i32x4.add(v128.load(cube, 16), place), 16);
    v128.store(cube, i32x4.add(v128.load(cube, 32), i32x4.mul(place, place)), 32);
    v128.store(cube, i32x4.add(v128.load(cube, 48), i32x4.mul(place, turned)), 48);
  }
}

/** The cube of a key that is not the first where its place in the table is; made if it is new. */
function seek(key: v128, from: u32): usize {
  let at = from;
  let number = load<u32>(table + (<usize>at << 2));
  while (number != 0) {
    const cube = cubes + <usize>number * CUBE;
    if (i32x4.all_true(i32x4.eq(v128.load(cube), key))) return cube;
    at = (at + 1) & mask;
    number = load<u32>(table + (<usize>at << 2));
  }
  return make(key, at);
}

/** An empty cube in the place of one that is full. */
function renew(full: usize): usize {
  const number = (full - cubes) / CUBE;
  return make(v128.load(full), load<u32>(places + ((number - 1) << 2)));
}

function make(key: v128, at: u32): usize {
  store<u32>(places + (<usize>have << 2), at);
  have++;
  store<i32>(table + (<usize>at << 2), have);
  const cube = cubes + <usize>have * CUBE;
  const none = i64x2.splat(0);
  v128.store(cube, key);
  v128.store(cube, none, 16);
  v128.store(cube, none, 32);
  v128.store(cube, none, 48);
  return cube;
}

/** Empties the table of the cubes it knows. */
export function forgetCubes(known: i32, entries: usize, spots: usize): void {
  for (let i = 0; i < known; i++) store<i32>(entries + (<usize>load<u32>(spots + (<usize>i << 2)) << 2), 0);
}

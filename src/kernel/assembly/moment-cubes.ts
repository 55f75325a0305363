import { hash } from './hash';

/** Added to a whole number below 2^51, it leaves that number in the lower half of the sum's bits. */
const TO_BITS: f64 = 6755399441055744;
/** Bytes of a cube: column, row, level, pass (i32), then n, x, y, z, xx, xy, xz, yy, yz, zz (f64). */
const CUBE: usize = 96;

// Cubes known, where they are, and the hash table that finds them again; set by `momentCubes` for its helpers.
let have: i32 = 0;
let cubes: usize = 0;
let table: usize = 0;
let mask: u32 = 0;
let places: usize = 0;

/**
 * Sums points by cube and pass: count, and sums of the coordinates from the cube's lower corner and of their products.
 * Sums are integers, so they are exact.
 *
 * A scanner stays in one cube for some points on end: sums run in local variables and go to the cube when it leaves.
 *
 * @param side edge of a cube; `quantum`: by which coordinates are divided and rounded first, 1 for not at all
 * @param live 0 for a point that does not count
 * @param known cubes known from calls before; `at`: where they are
 * @param entries hash table, 0 or number of a cube; `bits`: entries less one, all bits set, at least twice as many as points
 * @param spots for each cube its place in the table, so that it can be emptied again
 * @returns how many cubes there are now
 */
export function momentCubes(
  east: usize,
  north: usize,
  up: usize,
  pass: usize,
  live: usize,
  count: usize,
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
  const none = f64x2.splat(0);
  const sides = f64x2.splat(side);
  // Coordinates are whole numbers: half of one added, multiplying cannot round across a border as dividing cannot.
  const inverse = f64x2.splat(1 / side);
  const half = f64x2.splat(0.5);
  const toBits = f64x2.splat(TO_BITS);
  const end = live + count;
  // The cube the points are in: its lower corner (height twice), its pass, and what came to it since the scanner entered.
  let cube: usize = 0;
  let corner = none;
  let floor = none;
  let ownPass: i32 = 0;
  let n: f64 = 0;
  let plan = none;
  let heights = none;
  let squares = none;
  let withHeight = none;
  let others = none;
  for (; live < end; live++, east += 8, north += 8, up += 8, pass += 4) {
    if (load<u8>(live) == 0) continue;
    let xy = v128.load64_lane(north, v128.load64_zero(east), 1);
    let z = v128.load64_splat(up);
    if (quantum != 1) {
      xy = inQuanta(xy, quantum);
      z = inQuanta(z, quantum);
    }
    let dxy = f64x2.sub(xy, corner);
    let dz = f64x2.sub(z, floor);
    const here = load<i32>(pass);
    const outside = v128.or(
      v128.or(f64x2.lt(dxy, none), f64x2.ge(dxy, sides)),
      v128.or(f64x2.lt(dz, none), f64x2.ge(dz, sides)),
    );
    if (cube == 0 || v128.any_true(outside) || here != ownPass) {
      if (cube != 0) add(cube, n, plan, heights, squares, withHeight, others);
      const columnRow = f64x2.floor(f64x2.mul(f64x2.add(xy, half), inverse));
      const level = f64x2.floor(f64x2.mul(f64x2.add(z, half), inverse));
      corner = f64x2.mul(columnRow, sides);
      floor = f64x2.mul(level, sides);
      dxy = f64x2.sub(xy, corner);
      dz = f64x2.sub(z, floor);
      ownPass = here;
      const bits = i32x4.shuffle(f64x2.add(columnRow, toBits), f64x2.add(level, toBits), 0, 2, 4, 4);
      cube = find(i32x4.replace_lane(bits, 3, here));
      n = 0;
      plan = none;
      heights = none;
      squares = none;
      withHeight = none;
      others = none;
    }
    n += 1;
    plan = f64x2.add(plan, dxy);
    heights = f64x2.add(heights, dz);
    squares = f64x2.add(squares, f64x2.mul(dxy, dxy));
    withHeight = f64x2.add(withHeight, f64x2.mul(dxy, dz));
    // x times y, z times z
    others = f64x2.add(others, f64x2.mul(i64x2.shuffle(dxy, dz, 0, 2), i64x2.shuffle(dxy, dz, 1, 2)));
  }
  if (cube != 0) add(cube, n, plan, heights, squares, withHeight, others);
  return have;
}

/** Two coordinates divided and rounded. */
function inQuanta(v: v128, quantum: f64): v128 {
  const first = Math.round(f64x2.extract_lane(v, 0) / quantum);
  return f64x2.replace_lane(f64x2.splat(first), 1, Math.round(f64x2.extract_lane(v, 1) / quantum));
}

// @ts-ignore: decorator
@inline
function find(key: v128): usize {
  let at = hash(key) & mask;
  let number = load<i32>(table + (<usize>at << 2));
  while (number != 0) {
    const cube = cubes + <usize>(number - 1) * CUBE;
    if (i32x4.all_true(i32x4.eq(v128.load(cube), key))) return cube;
    at = (at + 1) & mask;
    number = load<i32>(table + (<usize>at << 2));
  }
  return make(key, at);
}

function make(key: v128, at: u32): usize {
  const cube = cubes + <usize>have * CUBE;
  store<u32>(places + (<usize>have << 2), at);
  have++;
  store<i32>(table + (<usize>at << 2), have);
  v128.store(cube, key);
  // Five stores: filling memory is a call out of here.
  const none = i64x2.splat(0);
  v128.store(cube, none, 16);
  v128.store(cube, none, 32);
  v128.store(cube, none, 48);
  v128.store(cube, none, 64);
  v128.store(cube, none, 80);
  return cube;
}

/** Adds what came to a cube: n x | y z | xx xy | xz yy | yz zz. */
// @ts-ignore: decorator
@inline
function add(cube: usize, n: f64, plan: v128, heights: v128, squares: v128, withHeight: v128, others: v128): void {
  v128.store(cube, f64x2.add(v128.load(cube, 16), i64x2.shuffle(f64x2.splat(n), plan, 0, 2)), 16);
  v128.store(cube, f64x2.add(v128.load(cube, 32), i64x2.shuffle(plan, heights, 1, 2)), 32);
  v128.store(cube, f64x2.add(v128.load(cube, 48), i64x2.shuffle(squares, others, 0, 2)), 48);
  v128.store(cube, f64x2.add(v128.load(cube, 64), i64x2.shuffle(withHeight, squares, 0, 3)), 64);
  v128.store(cube, f64x2.add(v128.load(cube, 80), i64x2.shuffle(withHeight, others, 1, 3)), 80);
}

/** Empties the table of the cubes it knows. */
export function forgetCubes(known: i32, entries: usize, spots: usize): void {
  for (let i = 0; i < known; i++) store<i32>(entries + (<usize>load<u32>(spots + (<usize>i << 2)) << 2), 0);
}

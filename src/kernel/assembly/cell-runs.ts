import { TO_BITS } from './whole';

/** Bytes of a run record: cell column, row, pass and number of points (i32 each). */
const RUN_BYTES: usize = 16;

// Column and row of the current cell (two f64). Set by `enter`.
let columnRow = f64x2.splat(0);

// @ts-ignore: decorator
@inline
function positionOf(east: usize, north: usize): v128 {
  return v128.load64_lane(north, v128.load64_zero(east), 1);
}

// @ts-ignore: decorator
@inline
function isOutside(from: v128, sides: v128): bool {
  return v128.any_true(v128.or(f64x2.lt(from, f64x2.splat(0)), f64x2.ge(from, sides)));
}

/** Stores column and row of the cell that holds `position` in `columnRow`. @returns the cell's lower corner, world units */
// @ts-ignore: decorator
@inline
function enter(position: v128, sides: v128): v128 {
  columnRow = f64x2.floor(f64x2.div(position, sides));
  return f64x2.mul(columnRow, sides);
}

// @ts-ignore: decorator
@inline
function storeCell(to: usize, pass: i32): void {
  const bits = f64x2.add(columnRow, f64x2.splat(TO_BITS));
  v128.store(to, i32x4.replace_lane(i32x4.shuffle(bits, bits, 0, 2, 0, 2), 2, pass));
}

/**
 * Counts runs: consecutive points in the same square cell and of the same pass. Points with `valid` 0 are skipped.
 * @param east address of the eastings (f64, world units); `north`: of the northings; `pass`: of pass indices (i32); `valid`: u8
 * @param side edge of a cell, world units
 * @param to address of the output: one 16-byte record a run; room for `count` records
 * @returns number of runs
 */
export function countRuns(
  east: usize,
  north: usize,
  pass: usize,
  valid: usize,
  count: usize,
  side: f64,
  to: usize,
): i32 {
  const first = to;
  const end = valid + count;
  const sides = f64x2.splat(side);
  let corner = f64x2.splat(Infinity);
  let runPass: i32 = 0;
  let n: i32 = 0;
  for (; valid < end; valid++, east += 8, north += 8, pass += 4) {
    if (load<u8>(valid) == 0) continue;
    const position = positionOf(east, north);
    const own = load<i32>(pass);
    if (isOutside(f64x2.sub(position, corner), sides) || own != runPass) {
      if (n > 0) {
        store<i32>(to, n, 12);
        to += RUN_BYTES;
      }
      corner = enter(position, sides);
      runPass = own;
      storeCell(to, own);
      n = 0;
    }
    n++;
  }
  if (n > 0) {
    store<i32>(to, n, 12);
    to += RUN_BYTES;
  }
  return <i32>((to - first) / RUN_BYTES);
}

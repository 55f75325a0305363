import { TO_BITS } from './whole';

/** Bytes of a run: cell column, row, pass and number of points (i32). */
const COUNT_RUN: usize = 16;

// The cell the points are in, and its lower corner.
let columnRow = f64x2.splat(0);

// @ts-ignore: decorator
@inline
function placeOf(east: usize, north: usize): v128 {
  return v128.load64_lane(north, v128.load64_zero(east), 1);
}

// @ts-ignore: decorator
@inline
function isOutside(from: v128, sides: v128): bool {
  return v128.any_true(v128.or(f64x2.lt(from, f64x2.splat(0)), f64x2.ge(from, sides)));
}

/** Column and row of the cell, kept in `columnRow`. @returns its lower corner */
// @ts-ignore: decorator
@inline
function enter(place: v128, sides: v128): v128 {
  columnRow = f64x2.floor(f64x2.div(place, sides));
  return f64x2.mul(columnRow, sides);
}

// @ts-ignore: decorator
@inline
function storeCell(to: usize, pass: i32): void {
  const bits = f64x2.add(columnRow, f64x2.splat(TO_BITS));
  v128.store(to, i32x4.replace_lane(i32x4.shuffle(bits, bits, 0, 2, 0, 2), 2, pass));
}

/**
 * Points that follow one another in the same square cell and pass, counted.
 * @returns how many runs there are
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
    const place = placeOf(east, north);
    const own = load<i32>(pass);
    if (isOutside(f64x2.sub(place, corner), sides) || own != runPass) {
      if (n > 0) {
        store<i32>(to, n, 12);
        to += COUNT_RUN;
      }
      corner = enter(place, sides);
      runPass = own;
      storeCell(to, own);
      n = 0;
    }
    n++;
  }
  if (n > 0) {
    store<i32>(to, n, 12);
    to += COUNT_RUN;
  }
  return <i32>((to - first) / COUNT_RUN);
}

import { allocate, copyBack, inputAddress, loops, outputAddress, STRIP } from './loops.js';

const raw = allocate(Int32Array, STRIP);
const world = allocate(Float64Array, STRIP);
const range = allocate(Int32Array, 2);

/** Conversion of stored integers to world coordinates: round((raw * scale + offset) * unit). */
export interface Conversion {
  scale: number;
  offset: number;
  unit: number;
}

/**
 * World coordinates of a column of stored integers, as whole multiples of 1 / unit.
 * @returns smallest and largest world coordinate; Infinity and -Infinity for no point
 */
export function toWorld(column: Int32Array, count: number, how: Conversion, out: Float64Array): [number, number] {
  const { scale, offset, unit } = how;
  // Where scale and offset are multiples of the unit, such as 1 mm of 0.1 mm, the result is an exact integer without rounding.
  const step = Math.round(scale * unit);
  const start = Math.round(offset * unit);
  const whole = step > 0 && Math.abs(scale * unit - step) < 1e-9 && Math.abs(offset * unit - start) < 1e-4;
  let low = 0x7fffffff;
  let high = -0x80000000;
  for (let from = 0; from < count; from += STRIP) {
    const n = Math.min(STRIP, count - from);
    const at = inputAddress(column, from, n, raw);
    const to = outputAddress(out, from, world);
    if (whole) loops.toWorld(at, n, 1, step, start, 1, to, range.address);
    else loops.toWorld(at, n, 0, scale, offset, unit, to, range.address);
    copyBack(out, from, n, world);
    if (range.view[0] < low) low = range.view[0];
    if (range.view[1] > high) high = range.view[1];
  }
  if (count === 0) return [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  const toUnits = (v: number) => (whole ? v * step + start : Math.round((v * scale + offset) * unit));
  // A negative scale reverses the order.
  const [a, b] = [toUnits(low), toUnits(high)];
  return [Math.min(a, b), Math.max(a, b)];
}

const shorts = allocate(Uint16Array, STRIP);
const keys = allocate(Int32Array, STRIP);

/**
 * Widens u16 to i32.
 * @returns whether all values are equal
 */
export function widen(column: Uint16Array, count: number, out: Int32Array): boolean {
  let same = true;
  for (let from = 0; from < count; from += STRIP) {
    const n = Math.min(STRIP, count - from);
    const uniform = loops.widenShorts(inputAddress(column, from, n, shorts), n, outputAddress(out, from, keys));
    copyBack(out, from, n, keys);
    same &&= uniform !== 0 && column[from] === column[0];
  }
  return same;
}

const bytes = allocate(Uint8Array, STRIP);

/** Bitwise OR of all bytes. */
export function orBytes(column: Uint8Array, count: number): number {
  let joined = 0;
  for (let from = 0; from < count; from += STRIP) {
    const n = Math.min(STRIP, count - from);
    joined |= loops.orBytes(inputAddress(column, from, n, bytes), n);
  }
  return joined;
}

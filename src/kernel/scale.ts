import { allocate, copyBack, inputAddress, loops, outputAddress, STRIP } from './loops.js';

const raw = allocate(Int32Array, STRIP);
const world = allocate(Float64Array, STRIP);
const range = allocate(Int32Array, 2);

/** How stored integers become world coordinates: round((raw * scale + offset) * unit). */
export interface Conversion {
  scale: number;
  offset: number;
  unit: number;
}

/**
 * World coordinates of a column of stored integers, in whole units.
 * @returns smallest and largest world coordinate; +-Infinity for no point
 */
export function toWorld(column: Int32Array, count: number, how: Conversion, out: Float64Array): [number, number] {
  const { scale, offset, unit } = how;
  // Where scale and offset are whole units, as with 1 mm and 0.1 mm, integer arithmetic is exact and needs no rounding.
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
  const place = (v: number) => (whole ? v * step + start : Math.round((v * scale + offset) * unit));
  // A negative scale turns the axis round.
  const [a, b] = [place(low), place(high)];
  return [Math.min(a, b), Math.max(a, b)];
}

const shorts = allocate(Uint16Array, STRIP);
const keys = allocate(Int32Array, STRIP);

/**
 * Numbers of two bytes, widened.
 * @returns whether all are the same
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

/** The bits that any of the bytes has. */
export function joinBits(column: Uint8Array, count: number): number {
  let joined = 0;
  for (let from = 0; from < count; from += STRIP) {
    const n = Math.min(STRIP, count - from);
    joined |= loops.joinBits(inputAddress(column, from, n, bytes), n);
  }
  return joined;
}

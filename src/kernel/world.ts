import { loops, reach, STRIP, takePlace } from './loops.js';

const raw = takePlace(Int32Array, STRIP);
const world = takePlace(Float64Array, STRIP);
const range = takePlace(Int32Array, 2);

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
    raw.view.set(column.subarray(from, from + n));
    // The loop writes four at a time: at the end of a column that has no room for them they go elsewhere first.
    const direct = from + ((n + 3) & ~3) <= out.length ? reach(out, from, 0, world) : world.at;
    if (whole) loops.toWorld(raw.at, n, 1, step, start, 1, direct, range.at);
    else loops.toWorld(raw.at, n, 0, scale, offset, unit, direct, range.at);
    if (direct === world.at) out.set(world.view.subarray(0, n), from);
    if (range.view[0] < low) low = range.view[0];
    if (range.view[1] > high) high = range.view[1];
  }
  if (count === 0) return [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  const place = (v: number) => (whole ? v * step + start : Math.round((v * scale + offset) * unit));
  // A negative scale turns the axis round.
  const [a, b] = [place(low), place(high)];
  return [Math.min(a, b), Math.max(a, b)];
}

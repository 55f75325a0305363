import { allocate, inputAddress, loops, STRIP } from './loops.js';

const whole = allocate(Int32Array, STRIP);
const wholeRange = allocate(Int32Array, 2);
const numbers = allocate(Float64Array, STRIP);
const numberRange = allocate(Float64Array, 2);

/** Widens `range` (smallest, largest) by the first `count` of whole numbers. */
export function widenByWhole(values: Int32Array, count: number, range: [number, number]): void {
  for (let from = 0; from < count; from += STRIP) {
    const n = Math.min(STRIP, count - from);
    loops.rangeOfWhole(inputAddress(values, from, n, whole), n, wholeRange.address);
    widen(range, wholeRange.view);
  }
}

/** Widens `range` (smallest, largest) by the first `count` of numbers; what is not a number is left out. */
export function widenByNumbers(values: Float64Array, count: number, range: [number, number]): void {
  for (let from = 0; from < count; from += STRIP) {
    const n = Math.min(STRIP, count - from);
    loops.rangeOfNumbers(inputAddress(values, from, n, numbers), n, numberRange.address);
    widen(range, numberRange.view);
  }
}

function widen(range: [number, number], by: Int32Array | Float64Array): void {
  if (by[0] < range[0]) range[0] = by[0];
  if (by[1] > range[1]) range[1] = by[1];
}

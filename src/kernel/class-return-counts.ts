import { allocate, inputAddress, loops, STRIP } from './loops.js';

const classes = allocate(Uint8Array, STRIP);
const numbers = allocate(Uint8Array, STRIP);
const returns = allocate(Uint8Array, STRIP);

/** Number of counts: 256 classes, 16 return numbers, 16 numbers of returns. */
export const CLASS_RETURN_COUNTS = 288;
const counts = allocate(Uint32Array, CLASS_RETURN_COUNTS);

/** The columns that are counted, one entry a point. */
export interface ClassReturnColumns {
  classification: Uint8Array;
  returnNumber: Uint8Array;
  returnCount: Uint8Array;
}

/** Counts points by class, return number and number of returns. The array is reused: read it before the next call. */
export function countClassesAndReturns(
  { classification, returnNumber, returnCount }: ClassReturnColumns,
  count: number,
): Uint32Array {
  counts.view.fill(0);
  for (let from = 0; from < count; from += STRIP) {
    const n = Math.min(STRIP, count - from);
    loops.countClassesAndReturns(
      inputAddress(classification, from, n, classes),
      inputAddress(returnNumber, from, n, numbers),
      inputAddress(returnCount, from, n, returns),
      n,
      counts.address,
    );
  }
  return counts.view;
}

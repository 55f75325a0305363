import { allocate, inputAddress, loops, STRIP } from './loops.js';

const classes = allocate(Uint8Array, STRIP);
const numbers = allocate(Uint8Array, STRIP);
const returns = allocate(Uint8Array, STRIP);

/** Counts of 256 classes, then of 16 return numbers, then of 16 numbers of returns. */
export const LABELS = 288;
const counts = allocate(Uint32Array, LABELS);

/** Labels of points. */
export interface Labels {
  classification: Uint8Array;
  returnNumber: Uint8Array;
  returnCount: Uint8Array;
}

/** Counts points by class, return number and number of returns. Reused: read the counts before the next call. */
export function countLabels({ classification, returnNumber, returnCount }: Labels, count: number): Uint32Array {
  counts.view.fill(0);
  for (let from = 0; from < count; from += STRIP) {
    const n = Math.min(STRIP, count - from);
    loops.countLabels(
      inputAddress(classification, from, n, classes),
      inputAddress(returnNumber, from, n, numbers),
      inputAddress(returnCount, from, n, returns),
      n,
      counts.address,
    );
  }
  return counts.view;
}

import { loops, reach, STRIP, takePlace } from './loops.js';

const classes = takePlace(Uint8Array, STRIP);
const numbers = takePlace(Uint8Array, STRIP);
const returns = takePlace(Uint8Array, STRIP);

/** Counts of 256 classes, then of 16 return numbers, then of 16 numbers of returns. */
export const LABELS = 288;
const counts = takePlace(Uint32Array, LABELS);

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
      reach(classification, from, n, classes),
      reach(returnNumber, from, n, numbers),
      reach(returnCount, from, n, returns),
      n,
      counts.at,
    );
  }
  return counts.view;
}

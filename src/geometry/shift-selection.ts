import { outlierLimit } from './outliers.js';
import { selectRank } from './ranking.js';
import { Scratch } from './scratch.js';

// Which distances a shift is solved from, and how many of them constrain a direction.

type Numbers = Float64Array | Float32Array;

const ofUsed = new Scratch();

/** Selects the distances to use by their residuals from the last estimate. @returns the limit, and whether the selection changed */
export function chooseAgain(
  residuals: Float64Array,
  inUse: Uint8Array,
  factor: number,
  floor: number,
): { limit: number; changed: boolean } {
  const used = ofUsed.take(inUse.length);
  let n = 0;
  for (let i = 0; i < inUse.length; i++) if (inUse[i] === 1) used[n++] = residuals[i];
  const { median, limit } = outlierLimit(used.subarray(0, n), { factor, floor });
  let changed = false;
  for (let i = 0; i < inUse.length; i++) {
    const keep = Math.abs(residuals[i] - median) <= limit ? 1 : 0;
    if (keep !== inUse[i]) changed = true;
    inUse[i] = keep;
  }
  return { limit, changed };
}

/** For each of the three directions, the number of normals that constrain a shift along it. */
export function countSupport(
  normals: Numbers,
  inUse: Uint8Array,
  vectors: Float64Array,
  minCosine: number,
): Int32Array {
  const support = new Int32Array(3);
  for (let i = 0; i < inUse.length; i++) {
    if (!inUse[i]) continue;
    for (let k = 0; k < 3; k++) if (Math.abs(dot(normals, 3 * i, vectors, 3 * k)) >= minCosine) support[k]++;
  }
  return support;
}

/**
 * As `countSupport`, but a distance of much noise counts in part, inversely to its variance: from twice the standard deviation of the
 * median distance on, and not below `floor`. Narrow or curved pieces of poles and bushes are poor evidence of a shift.
 */
export function firmSupport(
  normals: Numbers,
  variances: Numbers,
  inUse: Uint8Array,
  vectors: Float64Array,
  minCosine: number,
  floor: number,
): Float64Array {
  const support = new Float64Array(3);
  const sorted = ofUsed.take(inUse.length);
  let used = 0;
  for (let i = 0; i < inUse.length; i++) if (inUse[i]) sorted[used++] = variances[i];
  if (used === 0) return support;
  const most = Math.max(floor * floor, 4 * selectRank(sorted.subarray(0, used), used >> 1));
  for (let i = 0; i < inUse.length; i++) {
    if (!inUse[i]) continue;
    const part = variances[i] > most ? most / variances[i] : 1;
    for (let k = 0; k < 3; k++) if (Math.abs(dot(normals, 3 * i, vectors, 3 * k)) >= minCosine) support[k] += part;
  }
  return support;
}

/** Product of two vectors that begin at places of two arrays. */
export function dot(a: Numbers, at: number, b: Float64Array, bt: number): number {
  return a[at] * b[bt] + a[at + 1] * b[bt + 1] + a[at + 2] * b[bt + 2];
}

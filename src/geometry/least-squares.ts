import { eigenSymmetric3 } from './eigen3.js';
import { outlierLimit } from './outliers.js';
import { Scratch } from './scratch.js';

/**
 * Solves a symmetric positive definite system of `size` unknowns by Cholesky's factors, in place: the lower triangle of
 * `matrix` (row by row) becomes the factor, `right` the solution.
 *
 * @returns false when the matrix is not positive definite to working accuracy; the content of the arrays is then undefined
 */
export function solveSymmetric(matrix: Float64Array, right: Float64Array, size: number): boolean {
  for (let j = 0; j < size; j++) {
    const diagonal = matrix[j * size + j];
    let rest = diagonal;
    for (let k = 0; k < j; k++) rest -= matrix[j * size + k] * matrix[j * size + k];
    // So small a remainder of the diagonal is rounding: the column is linearly dependent on the columns before it.
    if (!(rest > diagonal * size * 4 * Number.EPSILON)) return false;
    const root = Math.sqrt(rest);
    matrix[j * size + j] = root;
    for (let i = j + 1; i < size; i++) {
      let sum = matrix[i * size + j];
      for (let k = 0; k < j; k++) sum -= matrix[i * size + k] * matrix[j * size + k];
      matrix[i * size + j] = sum / root;
    }
  }
  for (let i = 0; i < size; i++) {
    for (let k = 0; k < i; k++) right[i] -= matrix[i * size + k] * right[k];
    right[i] /= matrix[i * size + i];
  }
  for (let i = size - 1; i >= 0; i--) {
    for (let k = i + 1; k < size; k++) right[i] -= matrix[k * size + i] * right[k];
    right[i] /= matrix[i * size + i];
  }
  return true;
}

/** Options of a shift estimate. */
export interface ShiftOptions {
  /** Minimum number of distances that constrain a direction. Default 10. */
  minSupport?: number;
  /** A distance constrains a direction when |normal . direction| is at least this: 0.35, about 20 degrees off the surface. */
  minCosine?: number;
  /** An axis counts as observed when less than this of its length lies in directions that are not. Default 0.05. */
  axisTolerance?: number;
  /** Distances whose residual is farther than this many NMAD from the median are left out. Default: none are. */
  rejectFactor?: number;
  /** Residuals nearer to the median than this are never left out; unit of the distances. Default 0. */
  rejectFloor?: number;
}

/** A direction in which the surfaces constrain the shift. */
interface ShiftDirection {
  /** Unit vector, its largest component positive. */
  direction: [number, number, number];
  /** Shift along it. */
  distance: number;
  std: number;
  /** Share of the used distances that constrain it, 0 to 1. */
  share: number;
}

/** Shift of one surface against another; unit of the distances. */
export interface Shift {
  /** Along x, y, z; `null` for an axis that the surfaces do not constrain. */
  shift: [number | null, number | null, number | null];
  std: [number | null, number | null, number | null];
  observable: [boolean, boolean, boolean];
  /** Observed directions, the best determined first. */
  directions: ShiftDirection[];
  /** The part of the shift that is observed, as a vector: for residuals, not for reports (0 may mean unknown). */
  estimate: [number, number, number];
  /** Root mean square of the residuals of the used distances, divisor used; `null` for none. */
  rms: number | null;
  used: number;
  rejected: number;
}

const MOST_ROUNDS = 10;

/** Coordinates in either precision. */
type Numbers = Float64Array | Float32Array;

/**
 * Three-dimensional shift from distances between surfaces along their normals, by least squares of normal . shift =
 * distance. The normal matrix is split into its eigenvectors, and only directions that enough surfaces constrain are
 * solved: a bare road constrains the vertical shift but not the horizontal one, whatever its crossfall. An axis is reported
 * when it is within the observed directions, and is `null` otherwise, never zero.
 *
 * Standard deviations come from the scatter of the residuals, divisor used - number of directions; they take the
 * distances as independent. The last bits depend on the order of the distances: pass them sorted.
 *
 * @param normals unit vectors, three entries per distance; flipping a normal changes the sign of its distance
 * @throws RangeError for arrays shorter than count or values that are not finite
 */
export function solveShift(normals: Numbers, distances: Numbers, count: number, options: ShiftOptions = {}): Shift {
  checkInput(normals, distances, count);
  const { rejectFactor, rejectFloor = 0 } = options;
  const inUse = new Uint8Array(count).fill(1);
  const residuals = ofAll.take(count);
  let solution = solveUsed(normals, distances, inUse, residuals, options);
  if (rejectFactor === undefined) return solution;
  for (let round = 0; round < MOST_ROUNDS && solution.used > 0; round++) {
    if (!chooseAgain(residuals, inUse, rejectFactor, rejectFloor)) break;
    solution = solveUsed(normals, distances, inUse, residuals, options);
  }
  return solution;
}

/** @param residuals receives those of all distances, used or not */
function solveUsed(
  normals: Numbers,
  distances: Numbers,
  inUse: Uint8Array,
  residuals: Float64Array,
  options: ShiftOptions,
): Shift {
  const { minSupport = 10, minCosine = 0.35, axisTolerance = 0.05 } = options;
  const matrix = new Float64Array(6);
  const right = new Float64Array(3);
  const used = accumulate(normals, distances, inUse, matrix, right);
  const values = new Float64Array(3);
  const vectors = new Float64Array(9);
  eigenSymmetric3(matrix, values, vectors);
  const support = countSupport(normals, inUse, vectors, minCosine);

  const observed: number[] = [];
  const along = new Float64Array(3);
  const estimate: Shift['estimate'] = [0, 0, 0];
  for (let k = 2; k >= 0; k--) {
    if (support[k] < Math.max(1, minSupport) || values[k] < minSupport * minCosine * minCosine) continue;
    observed.push(k);
    along[k] = dot(right, 0, vectors, 3 * k) / values[k];
    for (let axis = 0; axis < 3; axis++) estimate[axis] += along[k] * vectors[3 * k + axis];
  }
  let squares = 0;
  for (let i = 0; i < inUse.length; i++) {
    const rest = residual(normals, distances, i, estimate);
    residuals[i] = rest;
    if (inUse[i]) squares += rest * rest;
  }
  const variance = used > observed.length ? squares / (used - observed.length) : 0;
  const solution: Shift = {
    shift: [null, null, null],
    std: [null, null, null],
    observable: [false, false, false],
    directions: observed.map((k) => ({
      direction: [vectors[3 * k], vectors[3 * k + 1], vectors[3 * k + 2]],
      distance: along[k],
      std: Math.sqrt(variance / values[k]),
      share: support[k] / used,
    })),
    estimate,
    rms: used > 0 ? Math.sqrt(squares / used) : null,
    used,
    rejected: inUse.length - used,
  };
  for (let axis = 0; axis < 3; axis++) {
    let hidden = 0;
    let spread = 0;
    for (let k = 0; k < 3; k++) {
      const part = vectors[3 * k + axis];
      if (observed.includes(k)) spread += (variance * part * part) / values[k];
      else hidden += part * part;
    }
    if (Math.sqrt(hidden) >= axisTolerance) continue;
    solution.observable[axis] = true;
    solution.shift[axis] = estimate[axis];
    solution.std[axis] = Math.sqrt(spread);
  }
  return solution;
}

const ofAll = new Scratch();
const ofUsed = new Scratch();

/** Selects the distances to use by their residuals from the last estimate. @returns whether the selection changed */
function chooseAgain(residuals: Float64Array, inUse: Uint8Array, factor: number, floor: number): boolean {
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
  return changed;
}

function residual(normals: Numbers, distances: Numbers, i: number, shift: Shift['estimate']): number {
  const at = 3 * i;
  return distances[i] - (normals[at] * shift[0] + normals[at + 1] * shift[1] + normals[at + 2] * shift[2]);
}

/** Adds up n n^T (xx, xy, xz, yy, yz, zz) and n d of the distances in use, and counts them. */
function accumulate(
  normals: Numbers,
  distances: Numbers,
  inUse: Uint8Array,
  matrix: Float64Array,
  right: Float64Array,
): number {
  let used = 0;
  for (let i = 0; i < inUse.length; i++) {
    if (!inUse[i]) continue;
    used++;
    const x = normals[3 * i];
    const y = normals[3 * i + 1];
    const z = normals[3 * i + 2];
    matrix[0] += x * x;
    matrix[1] += x * y;
    matrix[2] += x * z;
    matrix[3] += y * y;
    matrix[4] += y * z;
    matrix[5] += z * z;
    right[0] += x * distances[i];
    right[1] += y * distances[i];
    right[2] += z * distances[i];
  }
  return used;
}

/** For each of the three directions, the number of normals that constrain a shift along it. */
function countSupport(normals: Numbers, inUse: Uint8Array, vectors: Float64Array, minCosine: number): Int32Array {
  const support = new Int32Array(3);
  for (let i = 0; i < inUse.length; i++) {
    if (!inUse[i]) continue;
    for (let k = 0; k < 3; k++) if (Math.abs(dot(normals, 3 * i, vectors, 3 * k)) >= minCosine) support[k]++;
  }
  return support;
}

function dot(a: Numbers, at: number, b: Float64Array, bt: number): number {
  return a[at] * b[bt] + a[at + 1] * b[bt + 1] + a[at + 2] * b[bt + 2];
}

function checkInput(normals: Numbers, distances: Numbers, count: number): void {
  if (!Number.isInteger(count) || count < 0 || normals.length < 3 * count || distances.length < count) {
    throw new RangeError(`${count} distances asked of ${distances.length}, with ${normals.length / 3} normals`);
  }
  for (let i = 0; i < count; i++) {
    const sum = distances[i] + normals[3 * i] + normals[3 * i + 1] + normals[3 * i + 2];
    if (!Number.isFinite(sum)) throw new RangeError(`distance ${i} or its normal is not finite`);
  }
}

import { eigenSymmetric3 } from './eigen3.js';
import { Scratch } from './scratch.js';
import { shiftCovariance } from './shift-covariance.js';
import { chooseAgain, countSupport, dot, firmSupport } from './shift-selection.js';

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
  /** The axis x or y counts as observed when less than this of its length lies in directions that are not. Default 0.05. */
  axisTolerance?: number;
  /** The same for z: a hidden shift along a steep road changes the height by its size times the grade. Default 0.35. */
  heightTolerance?: number;
  /** Variance of every distance; default: all have the variance of the residuals. */
  variances?: Numbers;
  /** Position of every distance along the road, and the length of the shortest sections there; see `shiftCovariance`. */
  along?: Float64Array;
  section?: number;
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
  /** For each axis, the length of its part in directions that are not observed, 0 to 1. `std` leaves out what a shift there would add. */
  hidden: [number, number, number];
  /** Covariance of the observed part: xx, xy, xz, yy, yz, zz. */
  covariance: [number, number, number, number, number, number];
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
 * Standard deviations come from the variances of the distances, see `shiftCovariance`; without these, from the scatter of the
 * residuals, divisor used - number of directions, as if the distances were independent. The last bits depend on the order of
 * the distances: pass them sorted.
 *
 * @param normals unit vectors, three entries per distance; flipping a normal changes the sign of its distance
 * @throws RangeError for arrays shorter than count or values that are not finite
 */
export function solveShift(normals: Numbers, distances: Numbers, count: number, options: ShiftOptions = {}): Shift {
  checkInput(normals, distances, count);
  const { rejectFactor, rejectFloor = 0 } = options;
  const inUse = new Uint8Array(count).fill(1);
  const residuals = ofAll.take(count);
  let solved = solveUsed(normals, distances, inUse, residuals, options);
  let limit = Number.POSITIVE_INFINITY;
  for (let round = 0; rejectFactor !== undefined && round < MOST_ROUNDS && solved.used > 0; round++) {
    const chosen = chooseAgain(residuals, inUse, rejectFactor, rejectFloor);
    limit = chosen.limit;
    if (!chosen.changed) break;
    solved = solveUsed(normals, distances, inUse, residuals, options);
  }
  return describe(solved, { normals, inUse, residuals, limit }, options);
}

/** A solution in the basis of the eigenvectors of the normal matrix, which are numbered by their eigenvalues. */
interface Solved {
  values: Float64Array;
  vectors: Float64Array;
  /** Number of distances that constrain each eigenvector, and the shift along it. */
  support: Int32Array;
  along: Float64Array;
  /** Which eigenvectors are observed, the best determined first. */
  observed: number[];
  estimate: Shift['estimate'];
  /** Sum of the squared residuals of the used distances, and their number. */
  squares: number;
  used: number;
}

/** @param residuals receives those of all distances, used or not */
function solveUsed(
  normals: Numbers,
  distances: Numbers,
  inUse: Uint8Array,
  residuals: Float64Array,
  { minSupport = 10, minCosine = 0.35, variances, rejectFloor = 0 }: ShiftOptions,
): Solved {
  const matrix = new Float64Array(6);
  const right = new Float64Array(3);
  const used = accumulate(normals, distances, inUse, matrix, right);
  const values = new Float64Array(3);
  const vectors = new Float64Array(9);
  eigenSymmetric3(matrix, values, vectors);
  const support = countSupport(normals, inUse, vectors, minCosine);
  const firm =
    variances === undefined ? support : firmSupport(normals, variances, inUse, vectors, minCosine, rejectFloor);

  const observed: number[] = [];
  const along = new Float64Array(3);
  const estimate: Shift['estimate'] = [0, 0, 0];
  for (let k = 2; k >= 0; k--) {
    if (firm[k] < Math.max(1, minSupport) || values[k] < minSupport * minCosine * minCosine) continue;
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
  return { values, vectors, support, along, observed, estimate, squares, used };
}

interface Scatter {
  normals: Numbers;
  inUse: Uint8Array;
  residuals: Float64Array;
  /** Residuals beyond it were left out. */
  limit: number;
}

function describe(
  { values, vectors, support, along, observed, estimate, squares, used }: Solved,
  scatter: Scatter,
  options: ShiftOptions,
): Shift {
  const { axisTolerance = 0.05, heightTolerance = 0.35 } = options;
  const vectorOf = (k: number): [number, number, number] => [vectors[3 * k], vectors[3 * k + 1], vectors[3 * k + 2]];
  const size = observed.length;
  const within = covarianceWithin(
    scatter,
    observed.map(vectorOf),
    observed.map((k) => values[k]),
    used > size ? squares / (used - size) : 0,
    options,
  );
  const covariance = (p: number, q: number) => {
    let sum = 0;
    for (let k = 0; k < size; k++)
      for (let l = 0; l < size; l++)
        sum += within[k * size + l] * vectors[3 * observed[k] + p] * vectors[3 * observed[l] + q];
    return sum;
  };
  const solution: Shift = {
    shift: [null, null, null],
    std: [null, null, null],
    observable: [false, false, false],
    hidden: [0, 0, 0],
    covariance: [
      covariance(0, 0),
      covariance(0, 1),
      covariance(0, 2),
      covariance(1, 1),
      covariance(1, 2),
      covariance(2, 2),
    ],
    directions: observed.map((k, at) => ({
      direction: vectorOf(k),
      distance: along[k],
      std: Math.sqrt(within[at * size + at]),
      share: support[k] / used,
    })),
    estimate,
    rms: used > 0 ? Math.sqrt(squares / used) : null,
    used,
    rejected: scatter.inUse.length - used,
  };
  for (let axis = 0; axis < 3; axis++) {
    let hidden = 0;
    for (let k = 0; k < 3; k++) if (!observed.includes(k)) hidden += vectors[3 * k + axis] ** 2;
    solution.hidden[axis] = Math.sqrt(hidden);
    if (solution.hidden[axis] >= (axis === 2 ? heightTolerance : axisTolerance)) continue;
    solution.observable[axis] = true;
    solution.shift[axis] = estimate[axis];
    solution.std[axis] = Math.sqrt(Math.max(0, covariance(axis, axis)));
  }
  return solution;
}

/** Covariance in the basis of the observed directions, row by row. `variance` is that of the residuals. */
function covarianceWithin(
  scatter: Scatter,
  directions: readonly (readonly number[])[],
  values: readonly number[],
  variance: number,
  { variances, along, section }: ShiftOptions,
): Float64Array {
  if (variances !== undefined) return shiftCovariance({ ...scatter, variances, along, section }, directions);
  const size = values.length;
  const within = new Float64Array(size * size);
  for (let k = 0; k < size; k++) within[k * size + k] = variance / values[k];
  return within;
}

const ofAll = new Scratch();

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

function checkInput(normals: Numbers, distances: Numbers, count: number): void {
  if (!Number.isInteger(count) || count < 0 || normals.length < 3 * count || distances.length < count) {
    throw new RangeError(`${count} distances asked of ${distances.length}, with ${normals.length / 3} normals`);
  }
  for (let i = 0; i < count; i++) {
    const sum = distances[i] + normals[3 * i] + normals[3 * i + 1] + normals[3 * i + 2];
    if (!Number.isFinite(sum)) throw new RangeError(`distance ${i} or its normal is not finite`);
  }
}

/** Sweeps of Jacobi's method; convergence is quadratic and five or six do for any 3 x 3 matrix. */
const MOST_SWEEPS = 30;

const work = new Float64Array(9);

/**
 * Eigenvalues and eigenvectors of a symmetric 3 x 3 matrix, by Jacobi's rotations: slower than the closed formula, but
 * exact for diagonal matrices, and accurate to a few units of rounding of the largest eigenvalue where the formula loses
 * half the digits of the smallest. Writes into arrays of the caller and allocates nothing.
 *
 * @param matrix six entries: xx, xy, xz, yy, yz, zz
 * @param values receives the three eigenvalues, smallest first
 * @param vectors receives three unit vectors of three entries, in the order of the values, mutually perpendicular; the
 *   component of largest size is positive (the first of equals), so that the sign does not depend on rounding elsewhere
 * @throws RangeError when an entry is not finite
 */
export function eigenSymmetric3(matrix: Float64Array, values: Float64Array, vectors: Float64Array): void {
  for (let i = 0; i < 6; i++) {
    if (!Number.isFinite(matrix[i])) throw new RangeError(`matrix entry ${i} is ${matrix[i]}`);
  }
  const a = work;
  a[0] = matrix[0];
  a[1] = a[3] = matrix[1];
  a[2] = a[6] = matrix[2];
  a[4] = matrix[3];
  a[5] = a[7] = matrix[4];
  a[8] = matrix[5];
  vectors.fill(0, 0, 9);
  vectors[0] = vectors[4] = vectors[8] = 1;
  for (let sweep = 0; sweep < MOST_SWEEPS; sweep++) {
    if (a[1] === 0 && a[2] === 0 && a[5] === 0) break;
    rotate(a, vectors, 0, 1, 2);
    rotate(a, vectors, 0, 2, 1);
    rotate(a, vectors, 1, 2, 0);
  }
  values[0] = a[0];
  values[1] = a[4];
  values[2] = a[8];
  if (values[1] < values[0]) exchange(values, vectors, 0, 1);
  if (values[2] < values[1]) exchange(values, vectors, 1, 2);
  if (values[1] < values[0]) exchange(values, vectors, 0, 1);
  for (let k = 0; k < 3; k++) orient(vectors, 3 * k);
}

/** Turns the plane of axes p and q so that entry (p, q) vanishes; r is the third axis. Rows of `vectors` follow. */
function rotate(a: Float64Array, vectors: Float64Array, p: number, q: number, r: number): void {
  const pq = a[3 * p + q];
  if (pq === 0) return;
  const pp = a[3 * p + p];
  const qq = a[3 * q + q];
  const small = Math.abs(pq);
  if (Math.abs(pp) + small === Math.abs(pp) && Math.abs(qq) + small === Math.abs(qq)) {
    // Far below the rounding of both diagonal entries: a rotation would change nothing.
    a[3 * p + q] = a[3 * q + p] = 0;
    return;
  }
  const theta = (qq - pp) / (2 * pq);
  const size = Math.abs(theta);
  const t = (theta < 0 ? -1 : 1) / (size > 1e150 ? 2 * size : size + Math.sqrt(theta * theta + 1));
  const c = 1 / Math.sqrt(t * t + 1);
  const s = t * c;
  a[3 * p + p] = pp - t * pq;
  a[3 * q + q] = qq + t * pq;
  a[3 * p + q] = a[3 * q + p] = 0;
  const pr = a[3 * p + r];
  const qr = a[3 * q + r];
  a[3 * p + r] = a[3 * r + p] = c * pr - s * qr;
  a[3 * q + r] = a[3 * r + q] = s * pr + c * qr;
  for (let k = 0; k < 3; k++) {
    const vp = vectors[3 * p + k];
    const vq = vectors[3 * q + k];
    vectors[3 * p + k] = c * vp - s * vq;
    vectors[3 * q + k] = s * vp + c * vq;
  }
}

function exchange(values: Float64Array, vectors: Float64Array, i: number, j: number): void {
  const value = values[i];
  values[i] = values[j];
  values[j] = value;
  for (let k = 0; k < 3; k++) {
    const component = vectors[3 * i + k];
    vectors[3 * i + k] = vectors[3 * j + k];
    vectors[3 * j + k] = component;
  }
}

/** Turns the vector at `at` so that its largest component is positive; the first of equals decides. */
function orient(vectors: Float64Array, at: number): void {
  let largest = 0;
  for (let k = 1; k < 3; k++) if (Math.abs(vectors[at + k]) > Math.abs(vectors[at + largest])) largest = k;
  if (vectors[at + largest] >= 0) return;
  for (let k = 0; k < 3; k++) vectors[at + k] = 0 - vectors[at + k];
}

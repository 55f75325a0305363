// Planes from sums, by the methods of src/geometry/eigen3.ts and src/geometry/compensated-arithmetic.ts.

/** Bytes of a plane (all f64): n, mean x y z, eigenvalues (smallest first), three unit eigenvectors, rms. */
export const PLANE_BYTES: usize = 136;
/** Byte offset of the mean x, y, z. */
export const CENTROID: usize = 8;
/** Byte offset of the three eigenvalues, square quanta. */
export const VALUES: usize = 32;
/** Byte offset of the three unit eigenvectors; the first is the normal. */
export const NORMAL: usize = 56;
/** Byte offset of the root mean square distance, quanta. */
export const RMS: usize = 128;

/** Veltkamp's splitting constant for 53-bit significands, 2^27 + 1. */
const SPLITTER: f64 = 134_217_729;
/** Sweeps of Jacobi's method. */
const MOST_SWEEPS = 30;

function productError(a: f64, b: f64, product: f64): f64 {
  const aWide = SPLITTER * a;
  const aHigh = aWide - (aWide - a);
  const aLow = a - aHigh;
  const bWide = SPLITTER * b;
  const bHigh = bWide - (bWide - b);
  const bLow = b - bHigh;
  return aLow * bLow - (product - aHigh * bHigh - aLow * bHigh - aHigh * bLow);
}

/** a * b - c * d without loss by cancellation: both products are kept exactly. */
function differenceOfProducts(a: f64, b: f64, c: f64, d: f64): f64 {
  const first = a * b;
  const second = c * d;
  const firstLow = productError(a, b, first);
  const secondLow = productError(c, d, second);
  const high = first - second;
  const secondBack = first - high;
  const highLow = first - (high + secondBack) + (secondBack - second);
  return high + (highLow + (firstLow - secondLow));
}

/** Fits a plane by least squared distances to at least three points; `sums` is the address of n x y z xx xy xz yy yz zz (f64). */
export function fitPlane(sums: usize, out: usize): void {
  const n = load<f64>(sums);
  const x = load<f64>(sums, 8);
  const y = load<f64>(sums, 16);
  const z = load<f64>(sums, 24);
  const square = n * n;
  findAxes(
    max<f64>(0, differenceOfProducts(n, load<f64>(sums, 32), x, x) / square),
    differenceOfProducts(n, load<f64>(sums, 40), x, y) / square,
    differenceOfProducts(n, load<f64>(sums, 48), x, z) / square,
    max<f64>(0, differenceOfProducts(n, load<f64>(sums, 56), y, y) / square),
    differenceOfProducts(n, load<f64>(sums, 64), y, z) / square,
    max<f64>(0, differenceOfProducts(n, load<f64>(sums, 72), z, z) / square),
    out,
  );
  store<f64>(out, n);
  store<f64>(out, x / n, CENTROID);
  store<f64>(out, y / n, CENTROID + 8);
  store<f64>(out, z / n, CENTROID + 16);
  store<f64>(out, sqrt(max<f64>(0, load<f64>(out, VALUES))), RMS);
}

/**
 * Eigenvalues and eigenvectors of a symmetric matrix by Jacobi rotations, written to the plane, smallest eigenvalue first.
 * The three rotations of a sweep are written out, so that matrix and eigenvectors stay in registers.
 */
function findAxes(xx: f64, xy: f64, xz: f64, yy: f64, yz: f64, zz: f64, out: usize): void {
  let ax: f64 = 1;
  let ay: f64 = 0;
  let az: f64 = 0;
  let bx: f64 = 0;
  let by: f64 = 1;
  let bz: f64 = 0;
  let cx: f64 = 0;
  let cy: f64 = 0;
  let cz: f64 = 1;
  let v: f64 = 0;
  for (let sweep = 0; sweep < MOST_SWEEPS; sweep++) {
    if (xy == 0 && xz == 0 && yz == 0) break;
    if (xy != 0 && !isNegligible(xx, yy, xy)) {
      const t = tangent(xx, yy, xy);
      const c = 1 / sqrt(t * t + 1);
      const s = t * c;
      const shift = t * xy;
      xx -= shift;
      yy += shift;
      v = xz;
      xz = c * v - s * yz;
      yz = s * v + c * yz;
      v = ax;
      ax = c * v - s * bx;
      bx = s * v + c * bx;
      v = ay;
      ay = c * v - s * by;
      by = s * v + c * by;
      v = az;
      az = c * v - s * bz;
      bz = s * v + c * bz;
    }
    xy = 0;
    if (xz != 0 && !isNegligible(xx, zz, xz)) {
      const t = tangent(xx, zz, xz);
      const c = 1 / sqrt(t * t + 1);
      const s = t * c;
      const shift = t * xz;
      xx -= shift;
      zz += shift;
      v = xy;
      xy = c * v - s * yz;
      yz = s * v + c * yz;
      v = ax;
      ax = c * v - s * cx;
      cx = s * v + c * cx;
      v = ay;
      ay = c * v - s * cy;
      cy = s * v + c * cy;
      v = az;
      az = c * v - s * cz;
      cz = s * v + c * cz;
    }
    xz = 0;
    if (yz != 0 && !isNegligible(yy, zz, yz)) {
      const t = tangent(yy, zz, yz);
      const c = 1 / sqrt(t * t + 1);
      const s = t * c;
      const shift = t * yz;
      yy -= shift;
      zz += shift;
      v = xy;
      xy = c * v - s * xz;
      xz = s * v + c * xz;
      v = bx;
      bx = c * v - s * cx;
      cx = s * v + c * cx;
      v = by;
      by = c * v - s * cy;
      cy = s * v + c * cy;
      v = bz;
      bz = c * v - s * cz;
      cz = s * v + c * cz;
    }
    yz = 0;
  }
  const axes = out + NORMAL;
  store<f64>(axes, ax);
  store<f64>(axes, ay, 8);
  store<f64>(axes, az, 16);
  store<f64>(axes, bx, 24);
  store<f64>(axes, by, 32);
  store<f64>(axes, bz, 40);
  store<f64>(axes, cx, 48);
  store<f64>(axes, cy, 56);
  store<f64>(axes, cz, 64);
  store<f64>(out, xx, VALUES);
  store<f64>(out, yy, VALUES + 8);
  store<f64>(out, zz, VALUES + 16);
  sortPair(out, 0, 1);
  sortPair(out, 1, 2);
  sortPair(out, 0, 1);
  for (let k: usize = 0; k < 3; k++) orient(axes + k * 24);
}

/** Whether an off-diagonal entry is far below the rounding of both diagonal entries. */
// @ts-ignore: decorator
@inline
function isNegligible(pp: f64, qq: f64, pq: f64): bool {
  const small = abs(pq);
  return abs(pp) + small == abs(pp) && abs(qq) + small == abs(qq);
}

/** Tangent of the rotation angle that makes an off-diagonal entry zero. */
// @ts-ignore: decorator
@inline
function tangent(pp: f64, qq: f64, pq: f64): f64 {
  const theta = (qq - pp) / (2 * pq);
  const size = abs(theta);
  return (theta < 0 ? -1.0 : 1.0) / (size > 1e150 ? 2 * size : size + sqrt(theta * theta + 1));
}

/** Swaps eigenvalues i and j, and their eigenvectors, where the second is smaller. */
function sortPair(out: usize, i: usize, j: usize): void {
  const a = out + VALUES + i * 8;
  const b = out + VALUES + j * 8;
  if (load<f64>(b) >= load<f64>(a)) return;
  swap(a, b);
  for (let k: usize = 0; k < 24; k += 8) swap(out + NORMAL + i * 24 + k, out + NORMAL + j * 24 + k);
}

function swap(a: usize, b: usize): void {
  const held = load<f64>(a);
  store<f64>(a, load<f64>(b));
  store<f64>(b, held);
}

/** Flips a vector so that its largest component is positive; among equal components the first decides. */
function orient(vector: usize): void {
  let largest: usize = 0;
  for (let k: usize = 8; k < 24; k += 8) {
    if (abs(load<f64>(vector + k)) > abs(load<f64>(vector + largest))) largest = k;
  }
  if (load<f64>(vector + largest) >= 0) return;
  for (let k: usize = 0; k < 24; k += 8) store<f64>(vector + k, 0 - load<f64>(vector + k));
}

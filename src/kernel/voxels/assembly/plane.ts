// Planes from sums, as geometry does it; see src/geometry/eigen3.ts and compensated.ts for the methods.

/** A plane, all f64: n, mean x y z, eigenvalues (smallest first), directions of the first to the third, rms. */
export const PLANE: usize = 136;
export const CENTROID: usize = 8;
export const VALUES: usize = 32;
export const NORMAL: usize = 56;
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

/** a * b - c * d, both products kept exactly. */
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

// Entries of the matrix that is being turned: xx, xy, xz, yy, yz, zz; and its axes, row by row.
let xx: f64 = 0;
let xy: f64 = 0;
let xz: f64 = 0;
let yy: f64 = 0;
let yz: f64 = 0;
let zz: f64 = 0;

/** Plane of least squared distances of the points whose ten sums stand at `sums`: three points at the least. */
export function fitPlane(sums: usize, out: usize): void {
  const n = load<f64>(sums);
  const x = load<f64>(sums, 8);
  const y = load<f64>(sums, 16);
  const z = load<f64>(sums, 24);
  const square = n * n;
  xx = max<f64>(0, differenceOfProducts(n, load<f64>(sums, 32), x, x) / square);
  xy = differenceOfProducts(n, load<f64>(sums, 40), x, y) / square;
  xz = differenceOfProducts(n, load<f64>(sums, 48), x, z) / square;
  yy = max<f64>(0, differenceOfProducts(n, load<f64>(sums, 56), y, y) / square);
  yz = differenceOfProducts(n, load<f64>(sums, 64), y, z) / square;
  zz = max<f64>(0, differenceOfProducts(n, load<f64>(sums, 72), z, z) / square);
  findAxes(out);
  store<f64>(out, n);
  store<f64>(out, x / n, CENTROID);
  store<f64>(out, y / n, CENTROID + 8);
  store<f64>(out, z / n, CENTROID + 16);
  store<f64>(out, sqrt(max<f64>(0, load<f64>(out, VALUES))), RMS);
}

/** Jacobi's rotations; values and directions go to the plane, smallest value first. */
function findAxes(out: usize): void {
  const axes = out + NORMAL;
  for (let k: usize = 0; k < 9; k++) store<f64>(axes + (k << 3), k % 4 == 0 ? 1 : 0);
  for (let sweep = 0; sweep < MOST_SWEEPS; sweep++) {
    if (xy == 0 && xz == 0 && yz == 0) break;
    // Each turn: diagonal entries p and q, the entry between them, and the two others; rows p and q of the axes.
    if (xy != 0 && turns(xx, yy, xy)) {
      const p = xz;
      xx -= shift;
      yy += shift;
      xy = 0;
      xz = cosine * p - sine * yz;
      yz = sine * p + cosine * yz;
      turnAxes(axes, axes + 24);
    } else xy = 0;
    if (xz != 0 && turns(xx, zz, xz)) {
      const p = xy;
      xx -= shift;
      zz += shift;
      xz = 0;
      xy = cosine * p - sine * yz;
      yz = sine * p + cosine * yz;
      turnAxes(axes, axes + 48);
    } else xz = 0;
    if (yz != 0 && turns(yy, zz, yz)) {
      const p = xy;
      yy -= shift;
      zz += shift;
      yz = 0;
      xy = cosine * p - sine * xz;
      xz = sine * p + cosine * xz;
      turnAxes(axes + 24, axes + 48);
    } else yz = 0;
  }
  store<f64>(out, xx, VALUES);
  store<f64>(out, yy, VALUES + 8);
  store<f64>(out, zz, VALUES + 16);
  inOrder(out, 0, 1);
  inOrder(out, 1, 2);
  inOrder(out, 0, 1);
  for (let k: usize = 0; k < 3; k++) orient(axes + k * 24);
}

let cosine: f64 = 0;
let sine: f64 = 0;
let shift: f64 = 0;

/** Works out the turn that makes `pq` vanish. @returns false where it is far below the rounding of both others */
function turns(pp: f64, qq: f64, pq: f64): bool {
  const small = abs(pq);
  if (abs(pp) + small == abs(pp) && abs(qq) + small == abs(qq)) return false;
  const theta = (qq - pp) / (2 * pq);
  const size = abs(theta);
  const t = (theta < 0 ? -1.0 : 1.0) / (size > 1e150 ? 2 * size : size + sqrt(theta * theta + 1));
  cosine = 1 / sqrt(t * t + 1);
  sine = t * cosine;
  shift = t * pq;
  return true;
}

function turnAxes(p: usize, q: usize): void {
  for (let k: usize = 0; k < 24; k += 8) {
    const vp = load<f64>(p + k);
    const vq = load<f64>(q + k);
    store<f64>(p + k, cosine * vp - sine * vq);
    store<f64>(q + k, sine * vp + cosine * vq);
  }
}

/** Exchanges values i and j, and their directions, where the second is smaller. */
function inOrder(out: usize, i: usize, j: usize): void {
  const a = out + VALUES + i * 8;
  const b = out + VALUES + j * 8;
  if (load<f64>(b) >= load<f64>(a)) return;
  exchange(a, b);
  for (let k: usize = 0; k < 24; k += 8) exchange(out + NORMAL + i * 24 + k, out + NORMAL + j * 24 + k);
}

function exchange(a: usize, b: usize): void {
  const held = load<f64>(a);
  store<f64>(a, load<f64>(b));
  store<f64>(b, held);
}

/** Turns a vector so that its largest component is positive; the first of equals decides. */
function orient(vector: usize): void {
  let largest: usize = 0;
  for (let k: usize = 8; k < 24; k += 8) {
    if (abs(load<f64>(vector + k)) > abs(load<f64>(vector + largest))) largest = k;
  }
  if (load<f64>(vector + largest) >= 0) return;
  for (let k: usize = 0; k < 24; k += 8) store<f64>(vector + k, 0 - load<f64>(vector + k));
}

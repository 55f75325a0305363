import { findSurfaceLayer } from './height-layer.js';
import { type LocalPoints, sortPoints } from './local-points.js';
import { medianOfSorted, NMAD_FACTOR } from './statistics.js';

/** Limits of a height fit. Lengths in metres. */
export interface HeightOptions {
  /** Minimum number of points used for the plane. Default 10. */
  minPoints?: number;
  /** Thickness of the horizontal layer the fit starts from. Default 0.05 m. */
  layerMetres?: number;
  /** A surface at least this far below another one, with points under it, is the ground. Default 0.3 m. */
  clearanceMetres?: number;
  /** Points farther from the plane than this many NMAD of the points in use are rejected. Default 2.5. */
  factor?: number;
  /** Points nearer to the plane than this are never rejected. Default 0.01 m. */
  floorMetres?: number;
  /** Largest slope of the plane, rise over run. Default 1. */
  maxSlope?: number;
}

/** A fitted height. Lengths in metres. */
export interface HeightFit {
  /** Height of the plane at the survey point, from the same origin as dz. */
  height: number;
  /** Standard deviation of the height from the scatter of the points about the plane, divisor used - 3. */
  heightStd: number;
  /** Slope of the plane along x, and along y: rise over run. */
  slopeX: number;
  slopeY: number;
  /** Root mean square of the heights of the used points over the plane, divisor n. */
  rms: number;
  used: number;
  rejected: number;
  /** Number of quadrants around the survey point with a used point; below 3 the points are on one side. */
  quadrants: number;
}

const MOST_ROUNDS = 15;
/** Spread across over spread along (squared) under which the points lie in a line: a single scan line has about 1e-4. */
const LINE_RATIO = 0.03 * 0.03;

/**
 * Height of the surface at a survey point by a robust local plane z = a + b x + c y.
 *
 * Starts from the layer that covers most ground at the survey point (height-layer.ts), then fits by least squares, again
 * and again, to all points within factor * NMAD of the last plane, until the points in use stay the same. Kerbs, grass,
 * car roofs beside the point and leaves above it are thereby left out; a roof over the point itself cannot be distinguished
 * from ground.
 *
 * @param dx, dy offsets from the survey point in metres; dz heights from a local origin; only the first n are read
 * @returns `null` when fewer than minPoints lie on one plane, they lie in a line, or the plane is steeper than maxSlope
 * @throws RangeError for coordinates that are not finite, or an n beyond the arrays
 */
export function fitHeight(
  dx: Float64Array,
  dy: Float64Array,
  dz: Float64Array,
  n: number,
  options: HeightOptions = {},
): HeightFit | null {
  const { minPoints = 10, layerMetres = 0.05, clearanceMetres = 0.3, factor = 2.5 } = options;
  const { floorMetres = 0.01, maxSlope = 1 } = options;
  if (!(layerMetres > 0 && clearanceMetres > 0 && factor > 0 && floorMetres >= 0)) {
    throw new RangeError('layer, clearance and factor must be positive, the floor not negative');
  }
  const points = sortPoints(dx, dy, dz, n);
  const least = Math.max(3, minPoints);
  if (n < least) return null;

  const inUse = new Uint8Array(n);
  const fit = createFit();
  if (!startFit(points, inUse, fit, layerMetres, clearanceMetres)) return null;
  const residuals = new Float64Array(n);
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const changed = reject(points, fit, inUse, residuals, factor, floorMetres);
    if (!changed) break;
    if (!leastSquares(points, inUse, fit)) return null;
  }
  if (fit.used < least || Math.sqrt(fit.b * fit.b + fit.c * fit.c) > maxSlope) return null;
  return report(points, inUse, fit);
}

interface Fit {
  used: number;
  /** Centroid of the used points, and the slopes through it. */
  x: number;
  y: number;
  z: number;
  b: number;
  c: number;
  /** Sums of squares about the centroid, for the standard deviation. */
  xx: number;
  xy: number;
  yy: number;
}

function createFit(): Fit {
  return { used: 0, x: 0, y: 0, z: 0, b: 0, c: 0, xx: 0, xy: 0, yy: 0 };
}

/** Fits the starting layer; when its points lie in a line (a contour of a steep road), a layer up to four times as thick. */
function startFit(points: LocalPoints, inUse: Uint8Array, fit: Fit, layer: number, clearance: number): boolean {
  for (const layerMetres of [layer, 2 * layer, 4 * layer]) {
    const { begin, end } = findSurfaceLayer(points.x, points.y, points.z, { layerMetres, clearanceMetres: clearance });
    inUse.fill(0);
    inUse.fill(1, begin, end);
    if (leastSquares(points, inUse, fit)) return true;
  }
  return false;
}

/** Least squares about the centroid of the points in use. False when they are too few or lie in a line. */
function leastSquares(points: LocalPoints, inUse: Uint8Array, fit: Fit): boolean {
  const n = inUse.length;
  let used = 0;
  let sumX = 0;
  let sumY = 0;
  let sumZ = 0;
  for (let i = 0; i < n; i++) {
    if (!inUse[i]) continue;
    used++;
    sumX += points.x[i];
    sumY += points.y[i];
    sumZ += points.z[i];
  }
  if (used < 3) return false;
  const meanX = sumX / used;
  const meanY = sumY / used;
  const meanZ = sumZ / used;
  let xx = 0;
  let xy = 0;
  let yy = 0;
  let xz = 0;
  let yz = 0;
  for (let i = 0; i < n; i++) {
    if (!inUse[i]) continue;
    const x = points.x[i] - meanX;
    const y = points.y[i] - meanY;
    const z = points.z[i] - meanZ;
    xx += x * x;
    xy += x * y;
    yy += y * y;
    xz += x * z;
    yz += y * z;
  }
  const apart = Math.sqrt((xx - yy) * (xx - yy) + 4 * xy * xy);
  if (!(xx + yy - apart > LINE_RATIO * (xx + yy + apart))) return false;
  const determinant = xx * yy - xy * xy;
  fit.used = used;
  fit.x = meanX;
  fit.y = meanY;
  fit.z = meanZ;
  fit.b = (yy * xz - xy * yz) / determinant;
  fit.c = (xx * yz - xy * xz) / determinant;
  fit.xx = xx;
  fit.xy = xy;
  fit.yy = yy;
  return true;
}

/**
 * Chooses the points near the plane anew among all points. Distances are taken from the median of the points in use, which
 * grass on one side moves less than the mean. Says whether the choice changed.
 */
function reject(
  points: LocalPoints,
  fit: Fit,
  inUse: Uint8Array,
  residuals: Float64Array,
  factor: number,
  floor: number,
): boolean {
  const n = inUse.length;
  const ofUsed = new Float64Array(fit.used);
  let at = 0;
  for (let i = 0; i < n; i++) {
    residuals[i] = points.z[i] - fit.z - fit.b * (points.x[i] - fit.x) - fit.c * (points.y[i] - fit.y);
    if (inUse[i]) ofUsed[at++] = residuals[i];
  }
  const middle = medianOfSorted(ofUsed.sort());
  for (let i = 0; i < at; i++) ofUsed[i] = Math.abs(ofUsed[i] - middle);
  const limit = Math.max(factor * NMAD_FACTOR * medianOfSorted(ofUsed.sort()), floor);
  let changed = false;
  for (let i = 0; i < n; i++) {
    const near = Math.abs(residuals[i] - middle) <= limit ? 1 : 0;
    if (near !== inUse[i]) changed = true;
    inUse[i] = near;
  }
  return changed;
}

function report(points: LocalPoints, inUse: Uint8Array, fit: Fit): HeightFit {
  let squares = 0;
  let quadrantBits = 0;
  for (let i = 0; i < inUse.length; i++) {
    if (!inUse[i]) continue;
    const r = points.z[i] - fit.z - fit.b * (points.x[i] - fit.x) - fit.c * (points.y[i] - fit.y);
    squares += r * r;
    quadrantBits |= 1 << ((points.x[i] >= 0 ? 1 : 0) + (points.y[i] >= 0 ? 2 : 0));
  }
  let quadrants = 0;
  for (let bits = quadrantBits; bits > 0; bits >>= 1) quadrants += bits & 1;
  const variance = fit.used > 3 ? squares / (fit.used - 3) : 0;
  const determinant = fit.xx * fit.yy - fit.xy * fit.xy;
  // Variance of the height of the centroid, and of the slopes over the way from the centroid to the survey point.
  const lever = (fit.x * fit.x * fit.yy - 2 * fit.x * fit.y * fit.xy + fit.y * fit.y * fit.xx) / determinant;
  return {
    height: fit.z - fit.b * fit.x - fit.c * fit.y,
    heightStd: Math.sqrt(variance * (1 / fit.used + Math.max(0, lever))),
    slopeX: fit.b,
    slopeY: fit.c,
    rms: Math.sqrt(squares / fit.used),
    used: fit.used,
    rejected: inUse.length - fit.used,
    quadrants,
  };
}

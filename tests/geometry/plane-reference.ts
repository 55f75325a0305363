import { differenceOfProducts } from '../../src/geometry/compensated-arithmetic.js';
import { eigenSymmetric3 } from '../../src/geometry/eigen3.js';

// Planes from sums, written to be read: plane.test.ts holds them against literature, and tests/kernel/voxel-area.test.ts
// holds the compiled loops against them, bit for bit.

/**
 * A plane fitted to points, in the unit and from the local origin of the sums it was made of. Reused from voxel to voxel:
 * fitting writes into it and allocates nothing.
 */
export interface Plane {
  n: number;
  /** Mean of the points. */
  centroid: Float64Array;
  /** Covariance, divisor n: xx, xy, xz, yy, yz, zz. */
  covariance: Float64Array;
  /** Smallest first; the smallest is the mean squared distance of the points from the plane. */
  eigenvalues: Float64Array;
  /** Unit eigenvectors in the order of the eigenvalues, three entries each. */
  directions: Float64Array;
  /** Unit normal, the first of the directions; its largest component is positive. */
  normal: Float64Array;
  /** Root mean square distance of the points from the plane, divisor n. */
  rms: number;
}

/** An empty plane to fit into. */
export function createPlane(): Plane {
  const directions = new Float64Array(9);
  return {
    n: 0,
    centroid: new Float64Array(3),
    covariance: new Float64Array(6),
    eigenvalues: new Float64Array(3),
    directions,
    normal: directions.subarray(0, 3),
    rms: 0,
  };
}

/**
 * Plane of least squared perpendicular distances through n points, from their sums and sums of products, which are exact
 * integers below 2^53 (whole quanta from a corner of the cell).
 *
 * n * Sxy - Sx * Sy is taken with both products kept exactly: although they may exceed 2^53 by far, the error of a
 * covariance entry is at most 2^-50 of itself plus 2^-102 * |Sxy| / n. For Sxy below 2^53 the second part is below 2^-49
 * square quanta, whatever the distance of the points from the local origin: 0.1 mm quanta, hence under 1e-23 m2.
 *
 * @param sums Sx, Sy, Sz
 * @param products Sxx, Sxy, Sxz, Syy, Syz, Szz
 * @returns false, with `out` left as it was, for fewer than three points: no plane. Points in a line give true; the second
 *   eigenvalue is then zero and the caller is to ask for more.
 */
export function planeFromMoments(n: number, sums: Float64Array, products: Float64Array, out: Plane): boolean {
  if (!(n >= 0)) throw new RangeError(`the number of points is ${n}`);
  if (n < 3) return false;
  const x = sums[0];
  const y = sums[1];
  const z = sums[2];
  const square = n * n;
  const c = out.covariance;
  c[0] = Math.max(0, differenceOfProducts(n, products[0], x, x) / square);
  c[1] = differenceOfProducts(n, products[1], x, y) / square;
  c[2] = differenceOfProducts(n, products[2], x, z) / square;
  c[3] = Math.max(0, differenceOfProducts(n, products[3], y, y) / square);
  c[4] = differenceOfProducts(n, products[4], y, z) / square;
  c[5] = Math.max(0, differenceOfProducts(n, products[5], z, z) / square);
  eigenSymmetric3(c, out.eigenvalues, out.directions);
  out.n = n;
  out.centroid[0] = x / n;
  out.centroid[1] = y / n;
  out.centroid[2] = z / n;
  out.rms = Math.sqrt(Math.max(0, out.eigenvalues[0]));
  return true;
}

/**
 * Signed distance of plane B from plane A along their mean normal, positive where B lies on the side the normal of A
 * points to. Both planes are taken at the midpoint between the centroids, so that points spread unevenly over the same
 * tilted surface do not show as a distance. The sense of the normal of B does not matter. Same unit and origin for both.
 */
export function distanceBetweenPlanes(
  centroidA: Float64Array,
  normalA: Float64Array,
  centroidB: Float64Array,
  normalB: Float64Array,
): number {
  const dot = normalA[0] * normalB[0] + normalA[1] * normalB[1] + normalA[2] * normalB[2];
  const flip = dot < 0 ? -1 : 1;
  // Half the way from A to B; from the midpoint, A lies at minus this and B at plus this.
  const hx = (centroidB[0] - centroidA[0]) / 2;
  const hy = (centroidB[1] - centroidA[1]) / 2;
  const hz = (centroidB[2] - centroidA[2]) / 2;
  const alongA = hx * normalA[0] + hy * normalA[1] + hz * normalA[2];
  const alongB = flip * (hx * normalB[0] + hy * normalB[1] + hz * normalB[2]);
  // Both unit normals make the same angle with their mean: its cosine is half the length of their sum, at least 0.7.
  const cosine = Math.sqrt((1 + Math.abs(dot)) / 2);
  return (alongA + alongB) / cosine;
}

/** Unit vector midway between two unit normals, the second turned to agree with the first. Written into `out`. */
export function meanNormal(normalA: Float64Array, normalB: Float64Array, out: Float64Array): void {
  const dot = normalA[0] * normalB[0] + normalA[1] * normalB[1] + normalA[2] * normalB[2];
  const flip = dot < 0 ? -1 : 1;
  const x = normalA[0] + flip * normalB[0];
  const y = normalA[1] + flip * normalB[1];
  const z = normalA[2] + flip * normalB[2];
  const length = Math.sqrt(x * x + y * y + z * z);
  out[0] = x / length;
  out[1] = y / length;
  out[2] = z / length;
}

/** Cosine of the angle between two unit normals whatever their sense: 1 parallel, 0 perpendicular. */
export function cosineBetweenNormals(normalA: Float64Array, normalB: Float64Array): number {
  return Math.min(1, Math.abs(normalA[0] * normalB[0] + normalA[1] * normalB[1] + normalA[2] * normalB[2]));
}

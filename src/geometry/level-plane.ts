/**
 * A nearly level plane z = z0 + slopeX (x - x0) + slopeY (y - y0), least squares of heights. Reused from cell to cell:
 * fitting writes into it and allocates nothing. Unit and origin are those of the sums.
 */
export interface LevelPlane {
  n: number;
  /** Mean of the points. */
  x: number;
  y: number;
  z: number;
  slopeX: number;
  slopeY: number;
  /** Mean squared distance of the points from the plane along its normal, divisor n - 3. */
  variance: number;
  /** Smaller principal variance of the horizontal coordinates, divisor n. */
  spread: number;
}

/** A plane with all values zero, for `levelPlaneFromMoments` to write to. */
export function createLevelPlane(): LevelPlane {
  return { n: 0, x: 0, y: 0, z: 0, slopeX: 0, slopeY: 0, variance: 0, spread: 0 };
}

/**
 * Fits the plane to n points given by their sums, ten numbers from `at`: n, Sx Sy Sz, Sxx Sxy Sxz Syy Syz Szz.
 *
 * The sums are exact integers from a corner of the cell, so that plain differences lose nothing that counts: with
 * coordinates below 10^4 quanta a variance is right to 10^-8 square quanta.
 *
 * @returns false, with `out` left as it was, for fewer than four points and for points that lie in a line
 */
export function levelPlaneFromMoments(moments: Float64Array, at: number, out: LevelPlane): boolean {
  const n = moments[at];
  if (!(n >= 4)) return false;
  const x = moments[at + 1] / n;
  const y = moments[at + 2] / n;
  const z = moments[at + 3] / n;
  const xx = moments[at + 4] / n - x * x;
  const xy = moments[at + 5] / n - x * y;
  const xz = moments[at + 6] / n - x * z;
  const yy = moments[at + 7] / n - y * y;
  const yz = moments[at + 8] / n - y * z;
  const zz = moments[at + 9] / n - z * z;
  const determinant = xx * yy - xy * xy;
  if (!(determinant > 1e-6 * (xx + yy) * (xx + yy))) return false;
  const slopeX = (yy * xz - xy * yz) / determinant;
  const slopeY = (xx * yz - xy * xz) / determinant;
  const squares = Math.max(0, zz - slopeX * xz - slopeY * yz);
  out.n = n;
  out.x = x;
  out.y = y;
  out.z = z;
  out.slopeX = slopeX;
  out.slopeY = slopeY;
  out.variance = ((squares / (1 + slopeX * slopeX + slopeY * slopeY)) * n) / (n - 3);
  out.spread = (xx + yy - Math.sqrt((xx - yy) * (xx - yy) + 4 * xy * xy)) / 2;
  return true;
}

/** Height of the plane at a horizontal position. */
export function heightOn(plane: LevelPlane, x: number, y: number): number {
  return plane.z + plane.slopeX * (x - plane.x) + plane.slopeY * (y - plane.y);
}

import Delaunator from 'delaunator';
import { differenceOfProducts, exactSum } from './compensated-arithmetic.js';
import { checkPoints } from './local-points.js';

/** Options of a TIN height. */
export interface TinOptions {
  /** A triangle with a longer edge is a gap in the data, not a surface. Default: no limit. */
  maxEdgeMetres?: number;
}

/** A height interpolated in a triangle. */
export interface TinHeight {
  height: number;
  /** Slope of the triangle along x, and along y: rise over run. */
  slopeX: number;
  slopeY: number;
  longestEdgeMetres: number;
}

/**
 * Height at (0, 0) on the Delaunay triangulation of the points, linear within the triangle that holds (0, 0). Not robust:
 * pass ground points only. Points at the same position count as one, at their mean height. The points are sorted first, so the
 * result is the same for any order of them.
 *
 * @returns `null` outside the hull, for points in a line, or when every triangle that holds (0, 0) has an edge longer than
 *   maxEdgeMetres
 * @throws RangeError for coordinates that are not finite, or an n beyond the arrays
 */
export function tinHeight(
  dx: Float64Array,
  dy: Float64Array,
  dz: Float64Array,
  n: number,
  options: TinOptions = {},
): TinHeight | null {
  const { maxEdgeMetres = Number.POSITIVE_INFINITY } = options;
  checkPoints(dx, dy, dz, n);
  const { xy, z } = mergeSamePlace(dx, dy, dz, n);
  if (z.length < 3) return null;
  const { triangles } = new Delaunator(xy);
  for (let t = 0; t < triangles.length; t += 3) {
    const found = heightInTriangle(xy, z, triangles[t], triangles[t + 1], triangles[t + 2]);
    // On an edge several triangles hold the point and give the same height; the first that is small enough serves.
    if (found !== null && found.longestEdgeMetres <= maxEdgeMetres) return found;
  }
  return null;
}

function heightInTriangle(xy: Float64Array, z: Float64Array, i: number, j: number, k: number): TinHeight | null {
  const [ax, ay, bx, by, cx, cy] = [xy[2 * i], xy[2 * i + 1], xy[2 * j], xy[2 * j + 1], xy[2 * k], xy[2 * k + 1]];
  // Twice the areas of the triangles made with (0, 0), signs exact: neighbours never both miss a point on their edge.
  const u = differenceOfProducts(bx, cy, by, cx);
  const v = differenceOfProducts(cx, ay, cy, ax);
  const w = differenceOfProducts(ax, by, ay, bx);
  if (!((u >= 0 && v >= 0 && w >= 0) || (u <= 0 && v <= 0 && w <= 0))) return null;
  const area = u + v + w;
  if (area === 0) return null;
  const abx = bx - ax;
  const aby = by - ay;
  const acx = cx - ax;
  const acy = cy - ay;
  const rise1 = z[j] - z[i];
  const rise2 = z[k] - z[i];
  return {
    height: z[i] + (v / area) * rise1 + (w / area) * rise2,
    slopeX: (rise1 * acy - rise2 * aby) / area,
    slopeY: (rise2 * abx - rise1 * acx) / area,
    longestEdgeMetres: Math.max(Math.hypot(abx, aby), Math.hypot(acx, acy), Math.hypot(cx - bx, cy - by)),
  };
}

/** Points sorted by x, then y, those at the same place merged at their mean height. */
function mergeSamePlace(dx: Float64Array, dy: Float64Array, dz: Float64Array, n: number) {
  const order = new Uint32Array(n);
  for (let i = 0; i < n; i++) order[i] = i;
  order.sort((a, b) => dx[a] - dx[b] || dy[a] - dy[b] || dz[a] - dz[b]);
  const xy = new Float64Array(2 * n);
  const z = new Float64Array(n);
  let places = 0;
  for (let begin = 0; begin < n; ) {
    const x = dx[order[begin]];
    const y = dy[order[begin]];
    let end = begin + 1;
    while (end < n && dx[order[end]] === x && dy[order[end]] === y) end++;
    const first = begin;
    xy[2 * places] = x;
    xy[2 * places + 1] = y;
    z[places++] = exactSum(end - first, (i) => dz[order[first + i]]) / (end - first);
    begin = end;
  }
  return { xy: xy.slice(0, 2 * places), z: z.slice(0, places) };
}

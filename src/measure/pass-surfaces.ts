import { createLevelPlane, heightOn, levelPlaneFromMoments } from '../geometry/level-plane.js';
import { percentileOfSorted } from '../geometry/statistics.js';
import { KeyTable } from './key-table.js';
import { QUANTA_PER_METRE } from './measurement.js';
import type { PlaneMoments } from './plane-moments.js';
import { passesOf, visitVoxels } from './voxel-lattice.js';

export interface PassSurfacesParams {
  /** Edge of the cubes in which planes are fitted, metres. */
  voxel: number;
  /** Points of the pass that a voxel must hold. */
  minPoints: number;
}

/**
 * Smooth level patches of one pass: each a plane in one voxel, in the middle of nine that lie on one surface. Lengths in
 * metres; fixed order.
 */
export interface PassSurface {
  pass: number;
  /** Level patches of the pass in all, smooth or not, and how many of them are rough. */
  level: number;
  rough: number;
  /** Mean place of the points, world. */
  x: Float64Array;
  y: Float64Array;
  z: Float64Array;
  points: Float64Array;
  /** Mean squared distance of the points from the plane, divisor n - 3, square metres. */
  variance: Float64Array;
  /** Largest minus smallest height of the patch and its eight neighbours, once the slope is taken off. */
  range: Float64Array;
}

/** A patch is level up to 10 degrees, the slope up to which the USGS base specification samples smooth surfaces. */
const MAX_SLOPE = Math.tan((10 * Math.PI) / 180);
/** Thicker patches, in shares of the voxel edge, are no surface at all. */
const THICK = 0.12;
/** Least spread of the points to both sides, share of the voxel edge. */
const SPREAD = 0.12;
/** Patches this many times as rough as the median of their pass do not show its precision. */
const ROUGH = 3;
/** Neighbouring patches that differ by more than this share of the voxel edge have a kerb or a stair between them. */
const KERB = 0.1;
/** Patches of a window. */
const WIDE = 9;

/**
 * The smooth surfaces of every pass, from the moments that were measured for the comparison of passes: how far the points
 * scatter about each patch, and how far nine patches side by side stray from one plane. A patch beside a kerb, a wall or
 * the end of the data has not eight neighbours on its surface and does not count.
 */
export const passSurfaces = {
  id: 'pass-surfaces',
  from: ({ voxel }: PassSurfacesParams) => ({ measurement: 'plane-moments', params: { voxel } }),

  derive(state: PlaneMoments, { minPoints }: PassSurfacesParams): PassSurface[] {
    const passes = passesOf(state);
    const lists = new Map(passes.map((pass) => [pass, createPatches()]));
    for (const lattice of [0, 1] as const) collect(state, passes, lattice, Math.max(4, minPoints), lists);
    const metres = state.quantum / QUANTA_PER_METRE;
    return passes.map((pass) => surfaceOf(pass, lists.get(pass)!, state.side, metres));
  },
};

/** ROW numbers a patch, in quanta: x, y, z, n, variance, height over the middle of the voxel; and its voxel. */
interface Patches {
  count: number;
  rows: Float64Array;
  voxels: Int32Array;
}

const ROW = 6;

function createPatches(): Patches {
  return { count: 0, rows: new Float64Array(64 * ROW), voxels: new Int32Array(64 * 3) };
}

function collect(
  state: PlaneMoments,
  passes: readonly number[],
  lattice: 0 | 1,
  minPoints: number,
  lists: Map<number, Patches>,
): void {
  const { side } = state;
  const edge = 2 * side;
  const thickest = (THICK * edge) ** 2;
  const narrowest = (SPREAD * edge) ** 2;
  const plane = createLevelPlane();
  visitVoxels(state, lattice, passes, null, (group) => {
    for (let i = 0; i < group.count; i++) {
      const at = group.at[i];
      if (group.moments[at] < minPoints) continue;
      if (!levelPlaneFromMoments(group.moments, at, plane)) continue;
      if (plane.spread < narrowest || plane.variance > thickest) continue;
      if (Math.hypot(plane.slopeX, plane.slopeY) > MAX_SLOPE) continue;
      const middle = heightOn(plane, side, side);
      // A surface near a face of the voxel is cut off there and looks thinner than it is; the other lattice has it whole.
      if (Math.abs(middle - side) > side / 2) continue;
      const list = lists.get(group.pass[i])!;
      if ((list.count + 1) * ROW > list.rows.length) grow(list);
      const [cx, cy, cz] = group.corner;
      const r = list.count * ROW;
      list.rows[r] = cx * side + plane.x;
      list.rows[r + 1] = cy * side + plane.y;
      list.rows[r + 2] = cz * side + plane.z;
      list.rows[r + 3] = plane.n;
      list.rows[r + 4] = plane.variance;
      list.rows[r + 5] = cz * side + middle;
      list.voxels.set(group.corner, list.count * 3);
      list.count++;
    }
  });
}

function grow(list: Patches): void {
  const rows = new Float64Array(list.rows.length * 2);
  rows.set(list.rows);
  list.rows = rows;
  const voxels = new Int32Array(list.voxels.length * 2);
  voxels.set(list.voxels);
  list.voxels = voxels;
}

function surfaceOf(pass: number, list: Patches, side: number, metres: number): PassSurface {
  const { count, rows, voxels } = list;
  const variances = Float64Array.from({ length: count }, (_, i) => rows[i * ROW + 4]).sort();
  const limit = count > 0 ? ROUGH * ROUGH * percentileOfSorted(variances, 50) : 0;
  const smooth = new KeyTable(count);
  const source: number[] = [];
  for (let i = 0; i < count; i++) {
    if (rows[i * ROW + 4] > limit) continue;
    smooth.add(voxels[i * 3], voxels[i * 3 + 1], voxels[i * 3 + 2], 0);
    source.push(i);
  }
  const step = KERB * 2 * side;
  const z = new Float64Array(WIDE);
  const middles: number[] = [];
  const ranges: number[] = [];
  for (let at = 0; at < source.length; at++) {
    if (!readWindow(smooth, source, rows, at, z) || hasKerb(z, step)) continue;
    middles.push(source[at]);
    ranges.push(rangeOfWindow(z) * metres);
  }
  const column = (field: number, scale: number) => Float64Array.from(middles, (i) => rows[i * ROW + field] * scale);
  return {
    pass,
    level: count,
    rough: count - source.length,
    x: column(0, metres),
    y: column(1, metres),
    z: column(2, metres),
    points: column(3, 1),
    variance: column(4, metres * metres),
    range: Float64Array.from(ranges),
  };
}

/** Heights of the patch `at` and its eight neighbours, row by row; false when one is missing. */
function readWindow(
  smooth: KeyTable,
  source: readonly number[],
  rows: Float64Array,
  at: number,
  z: Float64Array,
): boolean {
  const cx = smooth.part(at, 0);
  const cy = smooth.part(at, 1);
  const cz = smooth.part(at, 2);
  for (let k = 0; k < WIDE; k++) {
    const x = cx + ((k % 3) - 1) * 2;
    const y = cy + (Math.floor(k / 3) - 1) * 2;
    // On a slope the neighbour may lie in the voxel above or below.
    let next = smooth.find(x, y, cz, 0);
    if (next < 0) next = smooth.find(x, y, cz + 2, 0);
    if (next < 0) next = smooth.find(x, y, cz - 2, 0);
    if (next < 0) return false;
    z[k] = rows[source[next] * ROW + 5];
  }
  return true;
}

function hasKerb(z: Float64Array, step: number): boolean {
  for (let k = 0; k < WIDE; k++) {
    if (k % 3 < 2 && Math.abs(z[k + 1] - z[k]) > step) return true;
    if (k < 6 && Math.abs(z[k + 3] - z[k]) > step) return true;
  }
  return false;
}

/** Largest minus smallest of nine heights on a square grid, once their plane of least squares is taken off. */
export function rangeOfWindow(z: Float64Array): number {
  const alongX = (z[2] + z[5] + z[8] - z[0] - z[3] - z[6]) / 6;
  const alongY = (z[6] + z[7] + z[8] - z[0] - z[1] - z[2]) / 6;
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < WIDE; k++) {
    const rest = z[k] - ((k % 3) - 1) * alongX - (Math.floor(k / 3) - 1) * alongY;
    if (rest < low) low = rest;
    if (rest > high) high = rest;
  }
  return high - low;
}

import {
  cosineBetweenNormals,
  createPlane,
  distanceBetweenPlanes,
  meanNormal,
  type Plane,
  planeFromMoments,
} from '../geometry/plane.js';
import type { PlaneMoments } from './plane-moments.js';
import { type Nudge, type VoxelGroup, visitVoxels } from './voxel-lattice.js';

/** Numbers kept for each pair of planes: normal, distance, position, vertical distance. */
export const FIELDS = 8;
/** Two planes are the same surface if their normals agree within 5 degrees. */
const COS_SAME = Math.cos((5 * Math.PI) / 180);
/** A surface counts as level, fit to compare heights on, up to this slope (10 degrees, as the USGS base specification samples). */
const COS_LEVEL = Math.cos((10 * Math.PI) / 180);
/** Root mean square thickness of a plane, share of the voxel edge, above which the points are no plane. */
const THICK = 0.04;
/** Least spread of the points along the plane's second axis, share of the voxel edge. */
const SPREAD = 0.12;

/** Planes of two passes in the same voxels. Lengths in quanta of the state, positions from world 0. */
export interface PairPlanes {
  a: number;
  b: number;
  /** Voxels in which both passes have points, enough points for a plane each, and planes that agree. */
  shared: number;
  dense: number;
  count: number;
  /** FIELDS numbers a row: nx, ny, nz, d, x, y, z, dz (NaN where the surface is not level). d and dz are b minus a. */
  rows: Float64Array;
  /** Voxel of each row: corner x, y, z in sub-voxels. */
  voxels: Int32Array;
}

/** Collects, over both lattices, every voxel in which two of the passes show the same plane. Fixed order of rows. */
export function collectPairPlanes(
  state: PlaneMoments,
  passes: readonly number[],
  minPoints: number,
  nudge: Nudge | null,
): PairPlanes[] {
  const collector = new Collector(state, passes, minPoints);
  for (const lattice of [0, 1] as const) visitVoxels(state, lattice, passes, nudge, (group) => collector.visit(group));
  return collector.pairs();
}

class Collector {
  readonly #passes: readonly number[];
  readonly #minPoints: number;
  readonly #side: number;
  readonly #planes: Plane[];
  readonly #flat: Uint8Array;
  readonly #pairs = new Map<number, PairPlanes>();
  readonly #sums = new Float64Array(3);
  readonly #products = new Float64Array(6);
  readonly #normal = new Float64Array(3);
  readonly #rank: Map<number, number>;

  constructor(state: PlaneMoments, passes: readonly number[], minPoints: number) {
    this.#passes = passes;
    this.#minPoints = Math.max(3, minPoints);
    this.#side = state.side;
    this.#planes = passes.map(() => createPlane());
    this.#flat = new Uint8Array(passes.length);
    this.#rank = new Map(passes.map((pass, at) => [pass, at]));
  }

  visit(group: VoxelGroup): void {
    if (group.count < 2) return;
    for (let i = 0; i < group.count; i++) this.#flat[i] = this.#fit(group, i) ? 1 : 0;
    for (let i = 0; i < group.count; i++) {
      for (let j = i + 1; j < group.count; j++) this.#compare(group, i, j);
    }
  }

  pairs(): PairPlanes[] {
    return [...this.#pairs.entries()].sort(([p], [q]) => p - q).map(([, pair]) => pair);
  }

  #fit(group: VoxelGroup, i: number): boolean {
    const m = group.moments;
    const at = group.at[i];
    if (m[at] < this.#minPoints) return false;
    for (let k = 0; k < 3; k++) this.#sums[k] = m[at + 1 + k];
    for (let k = 0; k < 6; k++) this.#products[k] = m[at + 4 + k];
    const plane = this.#planes[i];
    if (!planeFromMoments(m[at], this.#sums, this.#products, plane)) return false;
    const edge = 2 * this.#side;
    return plane.rms <= THICK * edge && plane.eigenvalues[1] >= (SPREAD * edge) ** 2;
  }

  #compare(group: VoxelGroup, i: number, j: number): void {
    const pair = this.#pair(group.pass[i], group.pass[j]);
    pair.shared++;
    if (group.moments[group.at[i]] < this.#minPoints || group.moments[group.at[j]] < this.#minPoints) return;
    pair.dense++;
    if (this.#flat[i] === 0 || this.#flat[j] === 0) return;
    const a = this.#planes[i];
    const b = this.#planes[j];
    if (cosineBetweenNormals(a.normal, b.normal) < COS_SAME) return;
    const n = this.#normal;
    meanNormal(a.normal, b.normal, n);
    const d = distanceBetweenPlanes(a.centroid, a.normal, b.centroid, b.normal);
    const half = this.#side;
    const x = (a.centroid[0] + b.centroid[0]) / 2;
    const y = (a.centroid[1] + b.centroid[1]) / 2;
    const z = (a.centroid[2] + b.centroid[2]) / 2;
    // Off the middle, a shift would push part of the surface out of the voxel and the distance would come out too small.
    const fromCentre = (x - half) * n[0] + (y - half) * n[1] + (z - half) * n[2];
    if (Math.abs(fromCentre) > half / 2) return;
    append(pair, n, d, group.corner, x, y, z, this.#side);
  }

  #pair(a: number, b: number): PairPlanes {
    const key = this.#rank.get(a)! * this.#passes.length + this.#rank.get(b)!;
    let pair = this.#pairs.get(key);
    if (!pair) {
      pair = {
        a,
        b,
        shared: 0,
        dense: 0,
        count: 0,
        rows: new Float64Array(64 * FIELDS),
        voxels: new Int32Array(64 * 3),
      };
      this.#pairs.set(key, pair);
    }
    return pair;
  }
}

function append(
  pair: PairPlanes,
  n: Float64Array,
  d: number,
  corner: readonly number[],
  x: number,
  y: number,
  z: number,
  side: number,
): void {
  if ((pair.count + 1) * FIELDS > pair.rows.length) {
    const rows = new Float64Array(pair.rows.length * 2);
    rows.set(pair.rows);
    pair.rows = rows;
    const voxels = new Int32Array(pair.voxels.length * 2);
    voxels.set(pair.voxels);
    pair.voxels = voxels;
  }
  const at = pair.count * FIELDS;
  const level = Math.abs(n[2]) >= COS_LEVEL;
  pair.rows[at] = n[0];
  pair.rows[at + 1] = n[1];
  pair.rows[at + 2] = n[2];
  pair.rows[at + 3] = d;
  pair.rows[at + 4] = corner[0] * side + x;
  pair.rows[at + 5] = corner[1] * side + y;
  pair.rows[at + 6] = corner[2] * side + z;
  pair.rows[at + 7] = level ? d / n[2] : Number.NaN;
  pair.voxels.set(corner, pair.count * 3);
  pair.count++;
}

import {
  cosineBetweenNormals,
  createPlane,
  distanceBetweenPlanes,
  meanNormal,
  type Plane,
  planeFromMoments,
} from '../geometry/plane.js';
import { type Area, type VoxelGroup, visitVoxels } from './voxel-lattice.js';

/** Two planes are the same surface if their normals agree within 5 degrees. */
const COS_SAME = Math.cos((5 * Math.PI) / 180);
/** Root mean square thickness of a plane, share of the voxel edge, above which the points are no plane. */
const THICK = 0.04;
/** Least spread of the points along the plane's second axis, share of the voxel edge. */
const SPREAD = 0.12;

/**
 * Planes of two passes in the same voxels: plain data, 34 bytes a plane, for a street has hundreds of them in every metre.
 * Lengths in quanta of the state.
 */
export interface PairPlanes {
  a: number;
  b: number;
  /** Voxels in which both passes have points, enough points for a plane each, and planes that agree. */
  shared: number;
  dense: number;
  count: number;
  /** Lower corner of the voxel, in sub-voxels: three a plane. */
  corner: Int32Array;
  /** Where the plane is known best, from the corner: three a plane. */
  offset: Uint16Array;
  /** Mean unit normal: three a plane. Single precision tells directions to a hundred-thousandth of a degree. */
  normal: Float32Array;
  /** Distance of b from a along the normal. Single precision: a distance of 0.25 m to a hundredth of a micrometre. */
  distance: Float32Array;
}

/** A surface counts as level, fit to compare heights on, up to this slope (10 degrees, as the USGS base specification samples). */
export const COS_LEVEL = Math.cos((10 * Math.PI) / 180);

/** Collects, over both lattices, every voxel of an area in which two of the passes show the same plane. Fixed order. */
export function collectPairPlanes(area: Area, passes: readonly number[], minPoints: number): PairPlanes[] {
  const collector = new Collector(area, passes, minPoints);
  for (const lattice of [0, 1] as const) visitVoxels(area, lattice, passes, (group) => collector.visit(group));
  return collector.pairs();
}

/** The planes of one pair over all areas, put together; null when the two passes never meet. */
export function joinPairPlanes(parts: readonly PairPlanes[]): PairPlanes | null {
  if (parts.length === 0) return null;
  const total = (pick: (part: PairPlanes) => number) => parts.reduce((sum, part) => sum + pick(part), 0);
  const joined = createPlanes(
    parts[0],
    total((part) => part.count),
  );
  joined.shared = total((part) => part.shared);
  joined.dense = total((part) => part.dense);
  for (const part of parts) {
    joined.corner.set(part.corner, joined.count * 3);
    joined.offset.set(part.offset, joined.count * 3);
    joined.normal.set(part.normal, joined.count * 3);
    joined.distance.set(part.distance, joined.count);
    joined.count += part.count;
  }
  return joined;
}

function createPlanes({ a, b }: { a: number; b: number }, room: number): PairPlanes {
  return {
    a,
    b,
    shared: 0,
    dense: 0,
    count: 0,
    corner: new Int32Array(room * 3),
    offset: new Uint16Array(room * 3),
    normal: new Float32Array(room * 3),
    distance: new Float32Array(room),
  };
}

/** The same planes with no room to spare, or with more of it. */
function resized(pair: PairPlanes, room: number): PairPlanes {
  const out = createPlanes(pair, room);
  out.corner.set(pair.corner.subarray(0, pair.count * 3));
  out.offset.set(pair.offset.subarray(0, pair.count * 3));
  out.normal.set(pair.normal.subarray(0, pair.count * 3));
  out.distance.set(pair.distance.subarray(0, pair.count));
  return Object.assign(out, { shared: pair.shared, dense: pair.dense, count: pair.count });
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

  constructor({ side }: Area, passes: readonly number[], minPoints: number) {
    this.#passes = passes;
    this.#minPoints = Math.max(3, minPoints);
    this.#side = side;
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
    return [...this.#pairs.entries()].sort(([p], [q]) => p - q).map(([, pair]) => resized(pair, pair.count));
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
    let pair = this.#pair(group.pass[i], group.pass[j]);
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
    if ((pair.count + 1) * 3 > pair.corner.length) pair = this.#grow(pair);
    const at = pair.count * 3;
    pair.corner.set(group.corner, at);
    pair.offset[at] = Math.round(x);
    pair.offset[at + 1] = Math.round(y);
    pair.offset[at + 2] = Math.round(z);
    pair.normal.set(n, at);
    pair.distance[pair.count++] = d;
  }

  #pair(a: number, b: number): PairPlanes {
    const key = this.#key(a, b);
    let pair = this.#pairs.get(key);
    if (!pair) {
      pair = createPlanes({ a, b }, 64);
      this.#pairs.set(key, pair);
    }
    return pair;
  }

  #grow(pair: PairPlanes): PairPlanes {
    const grown = resized(pair, pair.count * 2);
    this.#pairs.set(this.#key(pair.a, pair.b), grown);
    return grown;
  }

  #key(a: number, b: number): number {
    return this.#rank.get(a)! * this.#passes.length + this.#rank.get(b)!;
  }
}

import { median } from '../geometry/statistics.js';
import type { LevelPatches } from '../kernel/voxel-block.js';
import { BLOCK_CELLS, CellBlocks, cellInBlock } from './cells/cell-blocks.js';
import { type BlockDerivation, QUANTA_PER_METRE, requestFrom } from './contract/measurement.js';
import { planeMoments } from './plane-moments.js';
import type { PlaneBlock } from './planes/plane-block.js';

/** Voxels, and what a surface needs to be judged. */
export interface PassSurfacesParams {
  /** Edge of the voxels in which planes are fitted, metres. */
  voxel: number;
  /** Points of the pass that a voxel must hold. */
  minPoints: number;
}

/**
 * Smooth level patches of one pass: each a plane in one voxel, in the middle of nine that are parts of one surface. Lengths in
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

/** What is kept of an area. */
export interface PassSurfacesPart {
  /** Passes that hold points there. */
  passes: number[];
  side: number;
  /** Metres in one unit of the state. */
  metres: number;
  /** Level patches of each pass that has some, ascending; lengths in units of the state, 30 bytes each. */
  patches: LevelPatches[];
}

/**
 * The smooth surfaces of every pass, from the moments that are also used to compare passes: how far the points
 * scatter about each patch, and how far nine patches side by side depart from one plane. A patch beside a kerb, a wall or
 * the end of the data has not eight neighbours on its surface and does not count.
 */
export const passSurfaces: BlockDerivation<
  'pass-surfaces',
  typeof planeMoments,
  PassSurfacesParams,
  PlaneBlock,
  PassSurfacesPart,
  PassSurface[],
  PassSurface[]
> = {
  id: 'pass-surfaces',
  parameters: { voxel: 'required', minPoints: 'required' },
  from: ({ voxel }) => requestFrom(planeMoments, { voxel }),
  local: (params) => params,

  collect: ({ voxels, side, quantum, passes }, { minPoints }) => ({
    passes,
    side,
    metres: quantum / QUANTA_PER_METRE,
    patches: voxels.patches(limitsOf(side, Math.max(4, minPoints))),
  }),

  gather(parts) {
    const lists = new Map<number, LevelPatches[]>();
    for (const { passes, patches } of parts) {
      for (const pass of passes) if (!lists.has(pass)) lists.set(pass, []);
      for (const ofPass of patches) lists.get(ofPass.pass)!.push(ofPass);
    }
    return [...lists.entries()]
      .sort(([a], [b]) => a - b)
      .map(([pass, list]) => surfaceOf(join(pass, list), parts[0].side, parts[0].metres));
  },

  secondReading: () => [],
  combine: (surfaces) => surfaces,
};

function limitsOf(side: number, points: number) {
  const edge = 2 * side;
  return { points, variance: (THICK * edge) ** 2, spread: (SPREAD * edge) ** 2, slope: MAX_SLOPE };
}

function join(pass: number, parts: readonly LevelPatches[]): LevelPatches {
  const room = parts.reduce((sum, { count }) => sum + count, 0);
  const all: LevelPatches = {
    pass,
    count: 0,
    corner: new Int32Array(room * 3),
    offset: new Uint16Array(room * 3),
    points: new Uint32Array(room),
    variance: new Float32Array(room),
    middle: new Float32Array(room),
  };
  for (const part of parts) {
    all.corner.set(part.corner, all.count * 3);
    all.offset.set(part.offset, all.count * 3);
    all.points.set(part.points, all.count);
    all.variance.set(part.variance, all.count);
    all.middle.set(part.middle, all.count);
    all.count += part.count;
  }
  return all;
}

function surfaceOf(list: LevelPatches, side: number, metres: number): PassSurface {
  const { pass, count, corner, variance } = list;
  const limit = count > 0 ? ROUGH * ROUGH * median(variance) : 0;
  const smooth = new SmoothPatches(corner);
  for (let i = 0; i < count; i++) if (!(variance[i] > limit)) smooth.add(i);
  const step = KERB * 2 * side;
  const z = new Float64Array(WIDE);
  const middles = new Int32Array(smooth.count);
  const ranges = new Float64Array(smooth.count);
  let found = 0;
  for (let i = 0; i < count; i++) {
    if (variance[i] > limit || !readWindow(smooth, list, side, i, z) || hasKerb(z, step)) continue;
    middles[found] = i;
    ranges[found++] = rangeOfWindow(z) * metres;
  }
  return {
    pass,
    level: count,
    rough: count - smooth.count,
    ...describe(list, middles.subarray(0, found), side, metres),
    range: ranges.slice(0, found),
  };
}

function describe(
  { corner, offset, points, variance }: LevelPatches,
  middles: Int32Array,
  side: number,
  metres: number,
) {
  const columns = () => new Float64Array(middles.length);
  const out = { x: columns(), y: columns(), z: columns(), points: columns(), variance: columns() };
  for (let k = 0; k < middles.length; k++) {
    const i = middles[k];
    out.x[k] = (corner[i * 3] * side + offset[i * 3]) * metres;
    out.y[k] = (corner[i * 3 + 1] * side + offset[i * 3 + 1]) * metres;
    out.z[k] = (corner[i * 3 + 2] * side + offset[i * 3 + 2]) * metres;
    out.points[k] = points[i];
    out.variance[k] = variance[i] * metres * metres;
  }
  return out;
}

/** Smooth patches, found again by their corner. */
class SmoothPatches {
  count = 0;
  readonly #corner: Int32Array;
  readonly #blocks = new CellBlocks();
  /** By block, for each horizontal cell: the patch over it that came last, or -1; and for each patch the one before. */
  readonly #last: Int32Array[] = [];
  readonly #before: Int32Array;

  /** @param corner three integers a patch, as they will be asked for */
  constructor(corner: Int32Array) {
    this.#corner = corner;
    this.#before = new Int32Array(corner.length / 3);
  }

  add(patch: number): void {
    const x = this.#corner[patch * 3];
    const y = this.#corner[patch * 3 + 1];
    const block = this.#blocks.add(x >> 1, y >> 1, x & 1);
    if (block === this.#last.length) this.#last.push(new Int32Array(BLOCK_CELLS).fill(-1));
    const cell = cellInBlock(x >> 1, y >> 1);
    this.#before[patch] = this.#last[block][cell];
    this.#last[block][cell] = patch;
    this.count++;
  }

  /** The patch over x, y at one of three levels, the first that there is; -1 for none. */
  find(x: number, y: number, level: number, second: number, third: number): number {
    const block = this.#blocks.find(x >> 1, y >> 1, x & 1);
    if (block < 0) return -1;
    let best = -1;
    let rank = 3;
    for (let at = this.#last[block][cellInBlock(x >> 1, y >> 1)]; at >= 0; at = this.#before[at]) {
      const own = this.#corner[at * 3 + 2];
      const place = own === level ? 0 : own === second ? 1 : own === third ? 2 : 3;
      if (place >= rank) continue;
      best = at;
      rank = place;
    }
    return best;
  }
}

/** Heights of a patch and its eight neighbours over its own corner, row by row; false when one is missing. */
function readWindow(
  smooth: SmoothPatches,
  { corner, middle }: LevelPatches,
  side: number,
  patch: number,
  z: Float64Array,
): boolean {
  const cx = corner[patch * 3];
  const cy = corner[patch * 3 + 1];
  const cz = corner[patch * 3 + 2];
  for (let k = 0; k < WIDE; k++) {
    const x = cx + ((k % 3) - 1) * 2;
    const y = cy + (Math.floor(k / 3) - 1) * 2;
    // On a slope the neighbour may be in the voxel above or below.
    const next = smooth.find(x, y, cz, cz + 2, cz - 2);
    if (next < 0) return false;
    z[k] = middle[next] + (corner[next * 3 + 2] - cz) * side;
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
function rangeOfWindow(z: Float64Array): number {
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

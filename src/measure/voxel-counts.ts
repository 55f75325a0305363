import { CellGrid, type CellLayout } from './cells/cell-grid.js';
import { type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** Voxels in which points are counted. */
export interface VoxelCountsParams {
  /** Edge of a voxel, metres; anchored at multiples of it from world 0, 0, 0. */
  voxel: number;
  /** Classes whose points are not counted; none when left out. */
  without?: number[];
}

/** Counts of points by voxel. */
export interface VoxelCountsState {
  side: number;
  /** 1 for each class that is counted; null when all are. */
  counted: Uint8Array | null;
  grid: CellGrid<typeof LAYOUT.columns>;
}

/**
 * Occupied voxels, in a fixed order: `x`, `y`, `z` are floor(world / voxel); points in the voxel; points in it and in its
 * 26 neighbours.
 */
export interface VoxelCounts {
  voxel: number;
  x: Int32Array;
  y: Int32Array;
  z: Int32Array;
  points: Uint32Array;
  around: Float64Array;
}

const SLOTS = 512;

/** Keys: block x, y, z; a block is 8 x 8 x 8 voxels. */
const LAYOUT = {
  id: 'voxel-counts',
  version: 2,
  keys: 3,
  cells: SLOTS,
  columns: { points: { type: 'u32', merge: 'sum' } },
} as const satisfies CellLayout;

/** Number of valid points in voxels, all passes together: isolated points are found in them. */
export const voxelCounts: Measurement<'voxel-counts', VoxelCountsParams, VoxelCountsState, VoxelCounts> = {
  id: 'voxel-counts',
  parameters: { voxel: 'required', without: 'optional' },
  version: LAYOUT.version,
  columns: ({ without = [] }) => (without.length > 0 ? ['classification'] : []),
  create({ voxel, without = [] }) {
    const side = Math.round(voxel * QUANTA_PER_METRE);
    const counted =
      without.length > 0 ? Uint8Array.from({ length: 256 }, (_, c) => (without.includes(c) ? 0 : 1)) : null;
    return { side, counted, grid: new CellGrid(LAYOUT, [side]) };
  },

  add(state, { east, north, up, valid, count, points: { classification } }) {
    const { side, counted, grid } = state;
    const blockEdge = side * 8;
    const inverse = 1 / side;
    let held: Uint32Array | null = null;
    let originX = 0;
    let originY = 0;
    let originZ = 0;
    for (let i = 0; i < count; i++) {
      if (valid[i] === 0 || (counted !== null && counted[classification[i]] === 0)) continue;
      let x = east[i] - originX;
      let y = north[i] - originY;
      let z = up[i] - originZ;
      if (held === null || x < 0 || x >= blockEdge || y < 0 || y >= blockEdge || z < 0 || z >= blockEdge) {
        const bx = Math.floor(east[i] / blockEdge);
        const by = Math.floor(north[i] / blockEdge);
        const bz = Math.floor(up[i] / blockEdge);
        held = grid.open(bx, by, bz).points;
        originX = bx * blockEdge;
        originY = by * blockEdge;
        originZ = bz * blockEdge;
        x = east[i] - originX;
        y = north[i] - originY;
        z = up[i] - originZ;
      }
      // Coordinates are whole numbers: with a half added, multiplying cannot round across the border of a voxel.
      held[(((z + 0.5) * inverse) << 6) | (((y + 0.5) * inverse) << 3) | ((x + 0.5) * inverse)]++;
    }
  },

  pack: ({ grid }) => grid.pack(),
  merge: ({ grid }, packed) => grid.merge(packed),

  finish({ grid }, { voxel }) {
    let occupied = 0;
    for (const held of grid.blocks) for (let k = 0; k < SLOTS; k++) if (held.points[k] > 0) occupied++;
    const found: VoxelCounts = {
      voxel,
      x: new Int32Array(occupied),
      y: new Int32Array(occupied),
      z: new Int32Array(occupied),
      points: new Uint32Array(occupied),
      around: new Float64Array(occupied),
    };
    let at = 0;
    for (const block of grid.sorted()) {
      const held = grid.blocks[block].points;
      for (let slot = 0; slot < SLOTS; slot++) {
        if (held[slot] === 0) continue;
        found.x[at] = grid.key(block, 0) * 8 + (slot & 7);
        found.y[at] = grid.key(block, 1) * 8 + ((slot >> 3) & 7);
        found.z[at] = grid.key(block, 2) * 8 + (slot >> 6);
        found.points[at] = held[slot];
        found.around[at] = sumAround(grid, found.x[at], found.y[at], found.z[at]);
        at++;
      }
    }
    return found;
  },
};

function sumAround(grid: VoxelCountsState['grid'], x: number, y: number, z: number): number {
  let sum = 0;
  for (let dz = -1; dz <= 1; dz++) {
    for (let dy = -1; dy <= 1; dy++) {
      for (let dx = -1; dx <= 1; dx++) {
        const held = grid.find((x + dx) >> 3, (y + dy) >> 3, (z + dz) >> 3);
        if (held === null) continue;
        sum += held.points[(((z + dz) & 7) << 6) | (((y + dy) & 7) << 3) | ((x + dx) & 7)];
      }
    }
  }
  return sum;
}

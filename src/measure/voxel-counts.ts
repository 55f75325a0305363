import { KeyTable } from './cells/key-table.js';
import { type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

export interface VoxelCountsParams {
  /** Edge of the cubes, metres; anchored at multiples of it from world 0, 0, 0. */
  voxel: number;
  /** Classes whose points are not counted; none when left out. */
  without?: number[];
}

export interface VoxelCountsState {
  side: number;
  /** 1 for each class that is counted; null when all are. */
  counted: Uint8Array | null;
  /** Keys: block x, block y, block z, 0; a block is 8 x 8 x 8 cubes. */
  blocks: KeyTable;
  counts: Uint32Array[];
}

/** Occupied cubes, in a fixed order: position in cubes, points in it, points in it and its 26 neighbours. */
export interface VoxelCounts {
  voxel: number;
  x: Int32Array;
  y: Int32Array;
  z: Int32Array;
  points: Uint32Array;
  around: Float64Array;
}

const SLOTS = 512;
const MAGIC = 0x56435431;

/** Points in cubes, whatever their pass: how lonely a point is in space. */
export const voxelCounts: Measurement<VoxelCountsParams, VoxelCountsState, VoxelCounts> = {
  id: 'voxel-counts',
  version: 1,
  columns: ({ without = [] }) => (without.length > 0 ? ['classification'] : []),
  create: ({ voxel, without = [] }) => ({
    side: Math.round(voxel * QUANTA_PER_METRE),
    counted: without.length > 0 ? Uint8Array.from({ length: 256 }, (_, c) => (without.includes(c) ? 0 : 1)) : null,
    blocks: new KeyTable(),
    counts: [],
  }),

  add(state, { east, north, up, valid, count, points: { classification } }) {
    const { side, counted } = state;
    const reach = side * 8;
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
      if (held === null || x < 0 || x >= reach || y < 0 || y >= reach || z < 0 || z >= reach) {
        const bx = Math.floor(east[i] / reach);
        const by = Math.floor(north[i] / reach);
        const bz = Math.floor(up[i] / reach);
        held = openBlock(state, bx, by, bz);
        originX = bx * reach;
        originY = by * reach;
        originZ = bz * reach;
        x = east[i] - originX;
        y = north[i] - originY;
        z = up[i] - originZ;
      }
      // Whole numbers and a half: multiplying cannot round across the border of a cube.
      held[(((z + 0.5) * inverse) << 6) | (((y + 0.5) * inverse) << 3) | ((x + 0.5) * inverse)]++;
    }
  },

  pack(state) {
    const order = state.blocks.sorted();
    const words = new Int32Array(4 + order.length * (3 + SLOTS));
    words.set([MAGIC, state.side, order.length]);
    const counts = new Uint32Array(words.buffer);
    let at = 4;
    for (const block of order) {
      for (let k = 0; k < 3; k++) words[at++] = state.blocks.part(block, k);
      counts.set(state.counts[block], at);
      at += SLOTS;
    }
    return words.buffer;
  },

  merge(state, packed) {
    const words = new Int32Array(packed);
    const counts = new Uint32Array(packed);
    if (words[0] !== MAGIC || words[1] !== state.side) throw new RangeError('these cubes were counted otherwise');
    for (let i = 0, at = 4; i < words[2]; i++, at += SLOTS + 3) {
      const target = openBlock(state, words[at], words[at + 1], words[at + 2]);
      for (let k = 0; k < SLOTS; k++) target[k] += counts[at + 3 + k];
    }
  },

  finish(state, { voxel }) {
    let occupied = 0;
    for (const block of state.counts) for (let k = 0; k < SLOTS; k++) if (block[k] > 0) occupied++;
    const found: VoxelCounts = {
      voxel,
      x: new Int32Array(occupied),
      y: new Int32Array(occupied),
      z: new Int32Array(occupied),
      points: new Uint32Array(occupied),
      around: new Float64Array(occupied),
    };
    let at = 0;
    for (const block of state.blocks.sorted()) {
      const held = state.counts[block];
      for (let slot = 0; slot < SLOTS; slot++) {
        if (held[slot] === 0) continue;
        found.x[at] = state.blocks.part(block, 0) * 8 + (slot & 7);
        found.y[at] = state.blocks.part(block, 1) * 8 + ((slot >> 3) & 7);
        found.z[at] = state.blocks.part(block, 2) * 8 + (slot >> 6);
        found.points[at] = held[slot];
        found.around[at] = sumAround(state, found.x[at], found.y[at], found.z[at]);
        at++;
      }
    }
    return found;
  },
};

function openBlock(state: VoxelCountsState, bx: number, by: number, bz: number): Uint32Array {
  const index = state.blocks.add(bx, by, bz, 0);
  if (index === state.counts.length) state.counts.push(new Uint32Array(SLOTS));
  return state.counts[index];
}

function sumAround(state: VoxelCountsState, x: number, y: number, z: number): number {
  let sum = 0;
  for (let dz = -1; dz <= 1; dz++) {
    for (let dy = -1; dy <= 1; dy++) {
      for (let dx = -1; dx <= 1; dx++) {
        const block = state.blocks.find((x + dx) >> 3, (y + dy) >> 3, (z + dz) >> 3, 0);
        if (block < 0) continue;
        sum += state.counts[block][(((z + dz) & 7) << 6) | (((y + dy) & 7) << 3) | ((x + dx) & 7)];
      }
    }
  }
  return sum;
}

import { Fault } from '../fault.js';
import { dropVoxels, flushVoxels, momentVoxels, type OnVoxels } from '../kernel/moment-voxels.js';
import { BLOCK_SIDE } from '../kernel/voxels-by-block.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';
import type { PointGuard } from './planes/merge-voxels.js';
import { openPlaneBlock } from './planes/plane-block.js';
import { giveBuffer } from './planes/spare-blocks.js';
import {
  appendVoxels,
  createVoxelLists,
  cutVoxels,
  packVoxels,
  recycleLists,
  type VoxelLists,
} from './planes/voxel-list.js';
import { openBuffer } from './planes/voxel-list-blocks.js';

/** `voxel`: edge of the voxels in which planes are fitted, metres. Moments are kept in sub-voxels of half that edge. */
export interface PlaneMomentsParams {
  voxel: number;
  /** Only these passes, of which the second is moved by whole sub-voxels first: for passes that are far apart. */
  moved?: { passes: readonly [number, number]; by: readonly [number, number, number] };
}

/** Moments by sub-voxel and pass, while they are collected. */
export interface PlaneMoments {
  /** Sub-voxels, edge in the unit of the moments, and how they are kept. */
  lattice: Lattice;
  moved: { still: number; pass: number; by: readonly [number, number, number] } | null;
  voxels: VoxelLists;
  sink: OnVoxels;
}

/**
 * Exact first and second moments of X Y Z for each pass and sub-voxel: enough to fit, later, the plane of any voxel that
 * is a sum of eight sub-voxels. Sums are integers: a coordinate from the sub-voxel's corner is below `side`, a product
 * below side^2, and n side^2 < 2^53 is guarded (0.25 m at 0.1 mm: n < 1.4e9).
 *
 * By far the largest of all states. It is cut into blocks, so that those whose points have all been read can be reduced to the
 * planes that were looked for, and their voxels deleted.
 */
export const planeMoments: Measurement<'plane-moments', PlaneMomentsParams, PlaneMoments, PlaneMoments> = {
  id: 'plane-moments',
  parameters: { voxel: 'required', moved: 'optional' },
  version: 4,
  columns: () => [],

  create({ voxel, moved }) {
    const lattice = latticeOf(voxel);
    const voxels = createVoxelLists(lattice.side, lattice.guard);
    return {
      lattice,
      moved: moved ? { still: moved.passes[0], pass: moved.passes[1], by: moved.by } : null,
      voxels,
      sink: (bytes) => appendVoxels(voxels, { wide: false, bytes }),
    };
  },

  add(state, batch) {
    const source = state.moved === null ? batch : moveBatch(state, batch);
    momentVoxels(source, state.lattice.side, state.lattice.quantum, state.sink);
  },

  pack(state) {
    flushVoxels(state.sink);
    return packVoxels(state.voxels);
  },

  merge: ({ voxels }, packed) => appendVoxels(voxels, openBuffer(packed, voxels.side)),

  finish(state) {
    flushVoxels(state.sink);
    return state;
  },

  release(state) {
    dropVoxels(state.sink);
    recycleLists(state.voxels);
  },

  blocks: {
    edge: ({ voxel }) => {
      const { side, quantum } = latticeOf(voxel);
      return (side * quantum * BLOCK_SIDE) / QUANTA_PER_METRE;
    },
    halo: ({ voxel, moved }) => {
      const { side, quantum } = latticeOf(voxel);
      return ((1 + Math.max(0, ...(moved?.by ?? []).map(Math.abs))) * side * quantum) / QUANTA_PER_METRE;
    },
    cut(state) {
      flushVoxels(state.sink);
      return cutVoxels(state.voxels);
    },
    open: (area, pieces, { voxel }) => openPlaneBlock(area, pieces, latticeOf(voxel)),
    recycle: giveBuffer,
  },
};

interface Lattice {
  /** Edge of a sub-voxel, in the unit of the moments. */
  side: number;
  /** Size in 0.1 mm of the unit in which moments are kept: 1 up to sub-voxels of 1 m, 10 above. */
  quantum: number;
  /** A sum of products must stay below 2^53, so that it adds exactly in any order. */
  guard: PointGuard;
}

function latticeOf(voxel: number): Lattice {
  const fine = Math.round((voxel / 2) * QUANTA_PER_METRE);
  const quantum = fine <= QUANTA_PER_METRE ? 1 : 10;
  const side = Math.round(fine / quantum);
  const mostPoints = Math.floor(2 ** 53 / side ** 2);
  return { side, quantum, guard: { mostPoints, tooMany: () => tooDense(side * quantum, mostPoints) } };
}

// Scratch of this thread: a batch whose second pass is moved.
let shifted: MeasuredBatch | null = null;

function moveBatch({ moved, lattice: { side, quantum } }: PlaneMoments, batch: MeasuredBatch): MeasuredBatch {
  const { still, pass, by } = moved!;
  const step = side * quantum;
  if (!shifted || shifted.valid.length < batch.count) {
    const room = batch.valid.length;
    shifted = {
      ...batch,
      east: new Float64Array(room),
      north: new Float64Array(room),
      up: new Float64Array(room),
      valid: new Uint8Array(room),
    };
  }
  const out = { ...batch, east: shifted.east, north: shifted.north, up: shifted.up, valid: shifted.valid };
  for (let i = 0; i < batch.count; i++) {
    const far = batch.pass[i] === pass ? step : 0;
    out.east[i] = batch.east[i] + by[0] * far;
    out.north[i] = batch.north[i] + by[1] * far;
    out.up[i] = batch.up[i] + by[2] * far;
    out.valid[i] = batch.pass[i] === pass || batch.pass[i] === still ? batch.valid[i] : 0;
  }
  return out;
}

function tooDense(edge: number, mostPoints: number): Fault {
  return new Fault({
    code: 'cell-too-dense',
    where: 'pass agreement',
    what: `a voxel of ${edge / QUANTA_PER_METRE} m holds more points of one pass than can be summed exactly`,
    expected: `at most ${mostPoints}`,
    advice: 'Ask for a smaller voxel in the spec',
  });
}

import { Fault } from '../fault.js';
import { CUBE, type Cubes, momentCubes } from '../kernel/moment-cubes.js';
import { KeyTable } from './key-table.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './measurement.js';
import { AREA_SHIFT, AREA_SIDE, absorbAreas, cutAreas, type MomentAreas, openArea, packAreas } from './moment-areas.js';
import { BLOCK_SIDE, MOMENTS, type MomentBlocks, openBlock, openRecord, recycle } from './moment-blocks.js';

/** `voxel`: edge of the cube in which planes are fitted, metres. Moments are kept in sub-voxels of half that edge. */
export interface PlaneMomentsParams {
  voxel: number;
  /** Only these passes, of which the second is moved by whole sub-voxels first: for passes that stand far off. */
  moved?: { passes: readonly [number, number]; by: readonly [number, number, number] };
}

export interface PlaneMoments extends MomentAreas {
  /** Size in 0.1 mm of the unit in which moments are kept: 1 up to sub-voxels of 1 m, 10 above. */
  quantum: number;
  /** Most points a record may hold so that every product sum stays below 2^53 and adds exactly in any order. */
  mostPoints: number;
  moved: { still: number; pass: number; by: readonly [number, number, number] } | null;
}

/**
 * Exact first and second moments of X Y Z for each pass and sub-voxel: enough to fit, later, the plane of any voxel that
 * is a sum of eight sub-voxels. Sums are integers: a coordinate from the sub-voxel's corner is below `side`, a product
 * below side^2, and n side^2 < 2^53 is guarded (0.25 m at 0.1 mm: n < 1.4e9).
 *
 * By far the largest of all states. It is cut into areas, so that those whose points are all in can be boiled down to the
 * planes that were looked for and forgotten.
 */
export const planeMoments: Measurement<PlaneMomentsParams, PlaneMoments, PlaneMoments> = {
  id: 'plane-moments',
  version: 2,
  columns: () => [],

  create({ voxel, moved }) {
    const { side, quantum } = subVoxel(voxel);
    return {
      side,
      quantum,
      areas: new KeyTable(),
      blocks: [],
      mostPoints: Math.floor(2 ** 53 / side ** 2),
      moved: moved ? { still: moved.passes[0], pass: moved.passes[1], by: moved.by } : null,
    };
  },

  add(state, batch) {
    const source = state.moved === null ? batch : moveBatch(state, batch);
    momentCubes(source, state.side, state.quantum, (cubes, count) => addCubes(state, cubes, count));
  },

  pack: packAreas,

  absorb(state, packed) {
    if (absorbAreas(state, packed) > state.mostPoints) throw tooDense(state);
  },

  finish: (state) => state,

  release(state) {
    for (const blocks of state.blocks) recycle(blocks);
    state.blocks.length = 0;
  },

  areas: {
    edge: ({ voxel }) => {
      const { side, quantum } = subVoxel(voxel);
      return (side * quantum * BLOCK_SIDE * AREA_SIDE) / QUANTA_PER_METRE;
    },
    reach: ({ voxel, moved }) => {
      const { side, quantum } = subVoxel(voxel);
      return ((1 + Math.max(0, ...(moved?.by ?? []).map(Math.abs))) * side * quantum) / QUANTA_PER_METRE;
    },
    cut: cutAreas,
  },
};

function subVoxel(voxel: number): { side: number; quantum: number } {
  const fine = Math.round((voxel / 2) * QUANTA_PER_METRE);
  const quantum = fine <= QUANTA_PER_METRE ? 1 : 10;
  return { side: Math.round(fine / quantum), quantum };
}

// Scratch of this thread: a batch whose second pass is moved.
let shifted: MeasuredBatch | null = null;

function moveBatch({ moved, side, quantum }: PlaneMoments, batch: MeasuredBatch): MeasuredBatch {
  const { still, pass, by } = moved!;
  const step = side * quantum;
  if (!shifted || shifted.live.length < batch.count) {
    const room = batch.live.length;
    shifted = {
      ...batch,
      east: new Float64Array(room),
      north: new Float64Array(room),
      up: new Float64Array(room),
      live: new Uint8Array(room),
    };
  }
  const out = { ...batch, east: shifted.east, north: shifted.north, up: shifted.up, live: shifted.live };
  for (let i = 0; i < batch.count; i++) {
    const far = batch.pass[i] === pass ? step : 0;
    out.east[i] = batch.east[i] + by[0] * far;
    out.north[i] = batch.north[i] + by[1] * far;
    out.up[i] = batch.up[i] + by[2] * far;
    out.live[i] = batch.pass[i] === pass || batch.pass[i] === still ? batch.live[i] : 0;
  }
  return out;
}

/** Most cubes follow another of their block: then there is nothing to look up but the record. */
function addCubes(state: PlaneMoments, { words, numbers }: Cubes, count: number): void {
  let blockX = 0;
  let blockY = 0;
  let blockZ = 0;
  let blockPass = 0;
  let area: MomentBlocks | null = null;
  let held = -1;
  for (let i = 0, w = 0, from = CUBE.sums; i < count; i++, w += CUBE.words, from += CUBE.numbers) {
    const ix = words[w];
    const iy = words[w + 1];
    const iz = words[w + 2];
    const pass = words[w + 3];
    const bx = ix >> 3;
    const by = iy >> 3;
    const bz = iz >> 3;
    if (area === null || bx !== blockX || by !== blockY || bz !== blockZ || pass !== blockPass) {
      area = openArea(state, bx >> AREA_SHIFT, by >> AREA_SHIFT);
      held = openBlock(area, pass, bx, by, bz);
      blockX = bx;
      blockY = by;
      blockZ = bz;
      blockPass = pass;
    }
    const at = openRecord(area, held + (((iz & 7) << 6) | ((iy & 7) << 3) | (ix & 7))) * MOMENTS;
    const { moments } = area;
    for (let k = 0; k < MOMENTS; k++) moments[at + k] += numbers[from + k];
    if (moments[at] > state.mostPoints) throw tooDense(state);
  }
}

function tooDense(state: PlaneMoments): Fault {
  return new Fault({
    code: 'cell-too-dense',
    where: 'pass agreement',
    what: `a cube of ${(state.side * state.quantum) / QUANTA_PER_METRE} m holds more points of one pass than can be summed exactly`,
    expected: `at most ${state.mostPoints}`,
    advice: 'Ask for a smaller voxel in the spec',
  });
}

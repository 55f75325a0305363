import type { Column } from '../cloud/columns.js';
import type { VehicleTrack } from '../delivery/vehicle-track.js';
import { type CellBlock, CellGrid, type CellLayout } from './cells/cell-grid.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';
import { positionsAt } from './vehicle/track-positions.js';

/** Cells, and the way of the scanner. */
export interface RangeCellsParams {
  /** Edge of a square cell, metres; cells are anchored at multiples of it from world 0, 0. */
  cell: number;
  /** Points farther from the scanner are counted, metres. */
  limit: number;
  track: VehicleTrack;
}

/** Distances from the scanner by pass and cell, while they are collected. */
export interface RangeCellsState {
  side: number;
  /** Tenths of a millimetre. */
  limit: number;
  track: VehicleTrack['shared'];
  grid: CellGrid<typeof LAYOUT.columns>;
}

/** Occupied cells of one pass, by block and place in it: a fixed order. */
export interface RangeCells {
  pass: number;
  /** floor(world / cell). */
  column: Int32Array;
  row: Int32Array;
  /** Points with a distance; of them those beyond the limit; points at whose time there is no position of the vehicle. */
  points: Uint32Array;
  beyond: Uint32Array;
  unplaced: Uint32Array;
  /** Nearest and mean distance from the scanner, and mean height of the scanner above the points, metres; NaN without a distance. */
  nearest: Float64Array;
  mean: Float64Array;
  above: Float64Array;
}

const SHIFT = 5;
const SIDE = 1 << SHIFT;
const SLOTS = SIDE * SIDE;
/** Nearest distance of a cell without one, tenths of a millimetre. */
const NONE = 2 ** 31 - 1;

/** Keys: pass, block column, block row. Distances and heights in tenths of a millimetre. */
const LAYOUT = {
  id: 'range-cells',
  version: 1,
  keys: 3,
  cells: SLOTS,
  columns: {
    points: { type: 'u32', merge: 'sum' },
    beyond: { type: 'u32', merge: 'sum' },
    unplaced: { type: 'u32', merge: 'sum' },
    nearest: { type: 'i32', merge: 'min' },
    range: { type: 'f64', merge: 'sum' },
    above: { type: 'f64', merge: 'sum' },
  },
} as const satisfies CellLayout;

/**
 * Slant distance of every valid point from the scanner at its time, by pass and cell. Distances are rounded to 0.1 mm one by
 * one, so that their sums are whole numbers.
 */
export const rangeCells: Measurement<'range-cells', RangeCellsParams, RangeCellsState, RangeCells[]> = {
  id: 'range-cells',
  parameters: { cell: 'required', limit: 'required', track: 'required' },
  version: LAYOUT.version,
  columns: (): readonly Column[] => ['gpsTime'],

  create({ cell, limit, track }) {
    const side = Math.round(cell * QUANTA_PER_METRE);
    const far = Math.round(limit * QUANTA_PER_METRE);
    return { side, limit: far, track: track.shared, grid: new CellGrid(LAYOUT, [side, far]) };
  },

  add: addBatch,
  pack: ({ grid }) => grid.pack(),
  merge: ({ grid }, packed) => grid.merge(packed),

  finish({ grid }) {
    const byPass = new Map<number, number[]>();
    for (const block of grid.sorted()) {
      const pass = grid.key(block, 0);
      const blocks = byPass.get(pass);
      if (blocks) blocks.push(block);
      else byPass.set(pass, [block]);
    }
    return [...byPass].map(([pass, blocks]) => cellsOfPass(grid, pass, blocks));
  },
};

function addBatch(state: RangeCellsState, batch: MeasuredBatch): void {
  if (!batch.points.has.has('gpsTime')) return;
  const { side, limit, grid } = state;
  const { east, north, up, pass, valid, count } = batch;
  const scanner = positionsAt(state.track, batch.points.gpsTime, count);
  let held: CellBlock<typeof LAYOUT.columns> | null = null;
  let blockX = 0;
  let blockY = 0;
  let blockPass = 0;
  for (let i = 0; i < count; i++) {
    if (valid[i] === 0) continue;
    const cx = Math.floor(east[i] / side);
    const cy = Math.floor(north[i] / side);
    if (held === null || cx >> SHIFT !== blockX || cy >> SHIFT !== blockY || pass[i] !== blockPass) {
      blockX = cx >> SHIFT;
      blockY = cy >> SHIFT;
      blockPass = pass[i];
      held = grid.open(blockPass, blockX, blockY);
    }
    const slot = ((cy & (SIDE - 1)) << SHIFT) | (cx & (SIDE - 1));
    const dx = east[i] - scanner.east[i];
    const dy = north[i] - scanner.north[i];
    const dz = scanner.up[i] - up[i];
    const range = Math.floor(Math.sqrt(dx * dx + dy * dy + dz * dz) + 0.5);
    // Also false where there is no position; 200 km is no distance of a scanner.
    if (!(range < NONE)) {
      held.unplaced[slot]++;
      continue;
    }
    held.points[slot]++;
    if (range > limit) held.beyond[slot]++;
    if (range < held.nearest[slot]) held.nearest[slot] = range;
    held.range[slot] += range;
    held.above[slot] += Math.floor(dz + 0.5);
  }
}

function cellsOfPass(grid: RangeCellsState['grid'], pass: number, blocks: readonly number[]): RangeCells {
  let total = 0;
  const seen = (b: number, k: number) => grid.blocks[b].points[k] + grid.blocks[b].unplaced[k] > 0;
  for (const b of blocks) for (let k = 0; k < SLOTS; k++) if (seen(b, k)) total++;
  const found: RangeCells = {
    pass,
    column: new Int32Array(total),
    row: new Int32Array(total),
    points: new Uint32Array(total),
    beyond: new Uint32Array(total),
    unplaced: new Uint32Array(total),
    nearest: new Float64Array(total),
    mean: new Float64Array(total),
    above: new Float64Array(total),
  };
  let at = 0;
  for (const b of blocks) {
    const held = grid.blocks[b];
    for (let k = 0; k < SLOTS; k++) {
      if (!seen(b, k)) continue;
      const points = held.points[k];
      found.column[at] = grid.key(b, 1) * SIDE + (k & (SIDE - 1));
      found.row[at] = grid.key(b, 2) * SIDE + (k >> SHIFT);
      found.points[at] = points;
      found.beyond[at] = held.beyond[k];
      found.unplaced[at] = held.unplaced[k];
      found.nearest[at] = points > 0 ? held.nearest[k] / QUANTA_PER_METRE : Number.NaN;
      found.mean[at] = held.range[k] / points / QUANTA_PER_METRE;
      found.above[at++] = held.above[k] / points / QUANTA_PER_METRE;
    }
  }
  return found;
}

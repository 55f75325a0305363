import type { Column } from '../cloud/columns.js';
import { countRuns, RUN_WORDS } from '../kernel/cell-runs.js';
import { CellGrid, type CellLayout } from './cells/cell-grid.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** Which returns are counted. `first`, `last`, `only` count pulses, `all` counts points: different densities. */
export type CountedReturns = 'all' | 'first' | 'last' | 'only';

/** Cells in which points are counted, and which points count. */
export interface DensityGridParams {
  /** Edge of a square cell, metres; cells are anchored at multiples of it from world 0, 0. */
  cell: number;
  count: CountedReturns;
}

/** Counts of points by cell. */
export interface DensityGridState {
  side: number;
  count: CountedReturns;
  grid: CellGrid<typeof LAYOUT.columns>;
}

/** Occupied cells, sorted by row, then column. `column` and `row` are floor(world / cell). */
export interface DensityGrid {
  cell: number;
  count: CountedReturns;
  column: Int32Array;
  row: Int32Array;
  points: Uint32Array;
}

const SHIFT = 6;
const SIDE = 1 << SHIFT;
const SLOTS = SIDE * SIDE;

/** Keys: block column, block row. */
const LAYOUT = {
  id: 'density-grid',
  version: 2,
  keys: 2,
  cells: SLOTS,
  columns: { points: { type: 'u32', merge: 'sum' } },
} as const satisfies CellLayout;

/**
 * Number of valid points in square cells that are anchored at multiples of their edge. Counts have 32 bits: 16 bits overflow on
 * dense street clouds.
 */
export const densityGrid: Measurement<'density-grid', DensityGridParams, DensityGridState, DensityGrid> = {
  id: 'density-grid',
  parameters: { cell: 'required', count: 'required' },
  version: LAYOUT.version,
  columns: ({ count }): readonly Column[] => (count === 'all' ? [] : ['returns']),

  create({ cell, count }) {
    const side = Math.round(cell * QUANTA_PER_METRE);
    return { side, count, grid: new CellGrid(LAYOUT, [side]) };
  },

  add(state, batch) {
    const { returnNumber, returnCount } = batch.points;
    if (ones.length < batch.count) ones = new Uint8Array(batch.count).fill(1);
    let marked = batch.valid;
    if (state.count === 'first') marked = validUpTo(batch, returnNumber, ones);
    else if (state.count === 'last') marked = validUpTo(batch, returnCount, returnNumber);
    else if (state.count === 'only') marked = validUpTo(batch, returnCount, ones);
    countRuns({ ...batch, valid: marked }, state.side, (runs, count) => addRuns(state, runs, count));
  },

  pack: ({ grid }) => grid.pack(),
  merge: ({ grid }, packed) => grid.merge(packed),

  finish({ grid }, { cell, count }) {
    let occupied = 0;
    for (const held of grid.blocks) for (let k = 0; k < SLOTS; k++) if (held.points[k] > 0) occupied++;
    const column = new Int32Array(occupied);
    const row = new Int32Array(occupied);
    const points = new Uint32Array(occupied);
    let at = 0;
    for (const strip of blockRows(grid)) {
      for (let y = 0; y < SIDE; y++) {
        for (const block of strip) {
          const held = grid.blocks[block].points;
          for (let x = 0; x < SIDE; x++) {
            const n = held[y * SIDE + x];
            if (n === 0) continue;
            column[at] = grid.key(block, 0) * SIDE + x;
            row[at] = grid.key(block, 1) * SIDE + y;
            points[at++] = n;
          }
        }
      }
    }
    return { cell, count, column, row, points };
  },
};

/** Blocks grouped by block row, each group sorted by block column. */
function blockRows(grid: DensityGridState['grid']): number[][] {
  const rows = new Map<number, number[]>();
  for (const block of grid.sorted()) {
    const y = grid.key(block, 1);
    const strip = rows.get(y);
    if (strip) strip.push(block);
    else rows.set(y, [block]);
  }
  return [...rows.keys()].sort((a, b) => a - b).map((y) => rows.get(y)!);
}

// Scratch of this thread, reused by every batch.
let ones = new Uint8Array(0);
let scratch = new Uint8Array(0);

/** Marks the valid points whose `value` is not above `limit`: first returns, last returns and only returns are all that. */
function validUpTo(batch: MeasuredBatch, value: Uint8Array, limit: Uint8Array): Uint8Array {
  if (scratch.length < batch.count) scratch = new Uint8Array(batch.count);
  const { valid, count } = batch;
  for (let i = 0; i < count; i++) scratch[i] = valid[i] === 1 && value[i] <= limit[i] ? 1 : 0;
  return scratch;
}

/** Most runs follow another of their block. */
function addRuns(state: DensityGridState, words: Int32Array, count: number): void {
  let held: Uint32Array | null = null;
  let blockX = 0;
  let blockY = 0;
  for (let i = 0, w = 0; i < count; i++, w += RUN_WORDS) {
    const column = words[w];
    const row = words[w + 1];
    if (held === null || column >> SHIFT !== blockX || row >> SHIFT !== blockY) {
      blockX = column >> SHIFT;
      blockY = row >> SHIFT;
      held = state.grid.open(blockX, blockY).points;
    }
    held[((row & (SIDE - 1)) << SHIFT) | (column & (SIDE - 1))] += words[w + 3];
  }
}

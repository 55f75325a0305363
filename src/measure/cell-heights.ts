import type { Column } from '../cloud/columns.js';
import { Fault } from '../fault.js';
import { type CellBlock, CellGrid, type CellLayout, cellSumTooLarge } from './cells/cell-grid.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** Cells in which heights are summed. */
export interface CellHeightsParams {
  /** Edge of a square cell, metres; cells are anchored at multiples of it from world 0, 0. */
  cell: number;
  /** Points taken: those of pulses with a single return, or the last return of each pulse. */
  returns: 'single' | 'last';
}

/** Sums of heights by cell, while they are collected. */
export interface CellHeightsState {
  side: number;
  single: boolean;
  grid: CellGrid<typeof LAYOUT.columns>;
}

type BlockCells = CellBlock<typeof LAYOUT.columns>;

/** Occupied cells of one pass, sorted by row, then column; `column` and `row` are floor(world / cell), heights metres. */
export interface PassHeights {
  pass: number;
  column: Int32Array;
  row: Int32Array;
  points: Uint32Array;
  low: Float64Array;
  high: Float64Array;
  mean: Float64Array;
}

const SHIFT = 5;
const SIDE = 1 << SHIFT;
const SLOTS = SIDE * SIDE;
const LOW_NOISE = 7;
const HIGH_NOISE = 18;
/**
 * Heights are whole quanta in 32 bits, up to 214 km. A sum is exact below 2^53: 2^22 points (4.2 million) of a cell at that
 * height, 1.0e8 at 9 km, 2^32 up to 209 m. A sum beyond is an error, here and in the merge of the grid.
 */
const HIGHEST = 2 ** 31 - 1;

/** Keys: pass, block column, block row. Points, lowest and highest height, sum of heights; heights in quanta. */
const LAYOUT = {
  id: 'cell-heights',
  version: 2,
  keys: 3,
  cells: SLOTS,
  columns: {
    points: { type: 'u32', merge: 'sum' },
    low: { type: 'i32', merge: 'min' },
    high: { type: 'i32', merge: 'max' },
    sum: { type: 'f64', merge: 'sum' },
  },
} as const satisfies CellLayout;

/**
 * Lowest, highest and mean height in world-anchored cells, pass by pass: the published raster methods for the
 * precision within a swath and between swaths use them. Noise classes 7 and 18 are left out.
 */
export const cellHeights: Measurement<'cell-heights', CellHeightsParams, CellHeightsState, PassHeights[]> = {
  id: 'cell-heights',
  parameters: { cell: 'required', returns: 'required' },
  version: LAYOUT.version,
  columns: (): readonly Column[] => ['returns', 'classification'],

  create({ cell, returns }) {
    const side = Math.round(cell * QUANTA_PER_METRE);
    const single = returns === 'single';
    return { side, single, grid: new CellGrid(LAYOUT, [side, single ? 1 : 0]) };
  },

  add: addBatch,

  pack: ({ grid }) => grid.pack(),
  merge: ({ grid }, packed) => grid.merge(packed),

  finish({ grid }) {
    const passes = new Map<number, number[]>();
    for (const block of grid.sorted()) {
      const pass = grid.key(block, 0);
      const known = passes.get(pass);
      if (known) known.push(block);
      else passes.set(pass, [block]);
    }
    return [...passes.entries()].map(([pass, blocks]) => heightsOfPass(grid, pass, blocks));
  },
};

function addBatch(state: CellHeightsState, batch: MeasuredBatch): void {
  const { east, north, up, pass, valid, count } = batch;
  const { returnNumber, returnCount, classification } = batch.points;
  const { side, single, grid } = state;
  const blockEdge = side * SIDE;
  let held: BlockCells | null = null;
  let heldPass = 0;
  let originX = 0;
  let originY = 0;
  for (let i = 0; i < count; i++) {
    if (valid[i] === 0) continue;
    const kind = classification[i];
    if (kind === LOW_NOISE || kind === HIGH_NOISE) continue;
    if (single ? returnCount[i] > 1 : returnNumber[i] < returnCount[i]) continue;
    let x = east[i] - originX;
    let y = north[i] - originY;
    if (held === null || x < 0 || x >= blockEdge || y < 0 || y >= blockEdge || pass[i] !== heldPass) {
      const bx = Math.floor(east[i] / blockEdge);
      const by = Math.floor(north[i] / blockEdge);
      heldPass = pass[i];
      held = grid.open(heldPass, bx, by);
      originX = bx * blockEdge;
      originY = by * blockEdge;
      x = east[i] - originX;
      y = north[i] - originY;
    }
    const slot = (Math.floor(y / side) << SHIFT) | Math.floor(x / side);
    const z = up[i];
    if (z > HIGHEST || z < -HIGHEST) throw tooHigh(z);
    held.points[slot]++;
    const sum = held.sum[slot] + z;
    if (sum > Number.MAX_SAFE_INTEGER || sum < -Number.MAX_SAFE_INTEGER) throw cellSumTooLarge(LAYOUT.id, 'sum');
    held.sum[slot] = sum;
    if (z < held.low[slot]) held.low[slot] = z;
    if (z > held.high[slot]) held.high[slot] = z;
  }
}

function heightsOfPass(grid: CellHeightsState['grid'], pass: number, blocks: readonly number[]): PassHeights {
  const found: { column: number; row: number; block: number; slot: number }[] = [];
  for (const block of blocks) {
    const { points } = grid.blocks[block];
    for (let slot = 0; slot < SLOTS; slot++) {
      if (points[slot] === 0) continue;
      found.push({
        column: grid.key(block, 1) * SIDE + (slot & (SIDE - 1)),
        row: grid.key(block, 2) * SIDE + (slot >> SHIFT),
        block,
        slot,
      });
    }
  }
  found.sort((a, b) => a.row - b.row || a.column - b.column);
  const metres = (pick: (cells: BlockCells, slot: number) => number) =>
    Float64Array.from(found, ({ block, slot }) => pick(grid.blocks[block], slot) / QUANTA_PER_METRE);
  return {
    pass,
    column: Int32Array.from(found, (f) => f.column),
    row: Int32Array.from(found, (f) => f.row),
    points: Uint32Array.from(found, ({ block, slot }) => grid.blocks[block].points[slot]),
    low: metres((c, slot) => c.low[slot]),
    high: metres((c, slot) => c.high[slot]),
    mean: metres((c, slot) => c.sum[slot] / c.points[slot]),
  };
}

function tooHigh(z: number): Fault {
  return new Fault({
    code: 'height-beyond-range',
    where: 'heights in cells',
    what: 'a point lies higher or lower than 214 km, which no survey reaches',
    found: `${z / QUANTA_PER_METRE} m`,
    advice: 'Look for a wrong scale or offset in the header',
  });
}

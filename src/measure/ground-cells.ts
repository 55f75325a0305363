import type { Column } from '../cloud/columns.js';
import { type CellBlock, CellGrid, type CellLayout } from './cells/cell-grid.js';
import { type MaskArea, markInside, zoneMaskOf } from './cells/zone-mask.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** Cells, and the classes that are ground or noise. */
export interface GroundCellsParams {
  /** Edge of a square cell, metres; cells are anchored at multiples of it from world 0, 0. */
  cell: number;
  /** Classes that are ground. */
  ground: number[];
  /** Classes that are left out altogether: noise. */
  noise: number[];
  /** Points outside do not count; null: all count. */
  within: MaskArea | null;
}

/** Lowest and highest heights by cell. */
export interface GroundCellsState {
  side: number;
  /** For each class: 0 other, 1 ground, 2 left out. */
  kinds: Uint8Array;
  within: MaskArea | null;
  grid: CellGrid<typeof LAYOUT.columns>;
}

type BlockCells = CellBlock<typeof LAYOUT.columns>;

/** Cells that hold ground points, sorted by row, then column; heights in metres. */
export interface GroundCells {
  cell: number;
  column: Int32Array;
  row: Int32Array;
  low: Float64Array;
  high: Float64Array;
  /** Lowest point of another class in the cell; NaN where there is none. */
  otherLow: Float64Array;
  /** Smallest and largest of the lowest ground in the eight cells around; NaN where fewer than three of them hold ground. */
  aroundMin: Float64Array;
  aroundMax: Float64Array;
}

const SHIFT = 5;
const SIDE = 1 << SHIFT;
const SLOTS = SIDE * SIDE;
/** Heights are kept in 32 bits; what lies farther than 214 km from 0 is kept as if it lay there. */
const HIGHEST = 2 ** 31 - 1;
/** Cells around that must hold ground for a comparison. */
const LEAST_AROUND = 3;

/** Keys: block column, block row. Lowest and highest ground, lowest point of another class; quanta. */
const LAYOUT = {
  id: 'ground-cells',
  version: 2,
  keys: 2,
  cells: SLOTS,
  columns: {
    low: { type: 'i32', merge: 'min' },
    high: { type: 'i32', merge: 'max' },
    otherLow: { type: 'i32', merge: 'min' },
  },
} as const satisfies CellLayout;

/** Lowest and highest ground point and the lowest point of every other class, by cell; heights in metres. */
export const groundCells: Measurement<'ground-cells', GroundCellsParams, GroundCellsState, GroundCells> = {
  id: 'ground-cells',
  parameters: { cell: 'required', ground: 'required', noise: 'required', within: 'required' },
  version: LAYOUT.version,
  columns: (): readonly Column[] => ['classification'],

  create({ cell, ground, noise, within }) {
    const kinds = new Uint8Array(256);
    for (const c of ground) kinds[c] = 1;
    for (const c of noise) kinds[c] = 2;
    const side = Math.round(cell * QUANTA_PER_METRE);
    return { side, kinds, within, grid: new CellGrid(LAYOUT, [side]) };
  },

  add: addBatch,

  pack: ({ grid }) => grid.pack(),
  merge: ({ grid }, packed) => grid.merge(packed),
  finish: ({ grid }, { cell }) => cellsOf(grid, cell),
};

// Scratch of this thread, reused by every batch.
let inside = new Uint8Array(0);

function addBatch(state: GroundCellsState, batch: MeasuredBatch): void {
  const { east, north, up, valid, count } = batch;
  const { classification } = batch.points;
  const { side, kinds, grid } = state;
  let marked = valid;
  if (state.within) {
    if (inside.length < count) inside = new Uint8Array(count);
    markInside(zoneMaskOf(state.within), batch, valid, inside);
    marked = inside;
  }
  const blockEdge = side * SIDE;
  // Coordinates are whole numbers: half of one added, multiplying cannot round across a cell border as dividing cannot.
  const inverse = 1 / side;
  let held: BlockCells | null = null;
  let originX = 0;
  let originY = 0;
  for (let i = 0; i < count; i++) {
    const kind = kinds[classification[i]];
    if (marked[i] === 0 || kind === 2) continue;
    let x = east[i] - originX;
    let y = north[i] - originY;
    if (held === null || x < 0 || x >= blockEdge || y < 0 || y >= blockEdge) {
      const bx = Math.floor(east[i] / blockEdge);
      const by = Math.floor(north[i] / blockEdge);
      held = grid.open(bx, by);
      originX = bx * blockEdge;
      originY = by * blockEdge;
      x = east[i] - originX;
      y = north[i] - originY;
    }
    const slot = (((y + 0.5) * inverse) << SHIFT) | ((x + 0.5) * inverse);
    const z = up[i];
    if (kind === 0) {
      if (z < held.otherLow[slot]) held.otherLow[slot] = Math.max(z, -HIGHEST);
      continue;
    }
    if (z < held.low[slot]) held.low[slot] = Math.max(z, -HIGHEST);
    if (z > held.high[slot]) held.high[slot] = Math.min(z, HIGHEST);
  }
}

/** Whether a slot holds ground: its highest is not below its lowest. */
function holdsGround({ low, high }: BlockCells, slot: number): boolean {
  return high[slot] >= low[slot];
}

function cellsOf(grid: GroundCellsState['grid'], cell: number): GroundCells {
  const found: { column: number; row: number; block: number; slot: number }[] = [];
  for (const block of grid.sorted()) {
    const held = grid.blocks[block];
    for (let slot = 0; slot < SLOTS; slot++) {
      if (!holdsGround(held, slot)) continue;
      const column = grid.key(block, 0) * SIDE + (slot & (SIDE - 1));
      const row = grid.key(block, 1) * SIDE + (slot >> SHIFT);
      found.push({ column, row, block, slot });
    }
  }
  found.sort((a, b) => a.row - b.row || a.column - b.column);
  const n = found.length;
  const cells: GroundCells = {
    cell,
    column: Int32Array.from(found, (f) => f.column),
    row: Int32Array.from(found, (f) => f.row),
    low: new Float64Array(n),
    high: new Float64Array(n),
    otherLow: new Float64Array(n).fill(Number.NaN),
    aroundMin: new Float64Array(n).fill(Number.NaN),
    aroundMax: new Float64Array(n).fill(Number.NaN),
  };
  found.forEach(({ column, row, block, slot }, k) => {
    const held = grid.blocks[block];
    cells.low[k] = held.low[slot] / QUANTA_PER_METRE;
    cells.high[k] = held.high[slot] / QUANTA_PER_METRE;
    if (held.otherLow[slot] < HIGHEST) cells.otherLow[k] = held.otherLow[slot] / QUANTA_PER_METRE;
    lookAround(grid, column, row, cells, k);
  });
  return cells;
}

function lookAround(grid: GroundCellsState['grid'], column: number, row: number, cells: GroundCells, k: number): void {
  let around = 0;
  let low = HIGHEST;
  let high = -HIGHEST;
  for (let y = row - 1; y <= row + 1; y++) {
    for (let x = column - 1; x <= column + 1; x++) {
      if (x === column && y === row) continue;
      const held = grid.find(x >> SHIFT, y >> SHIFT);
      if (held === null) continue;
      const slot = ((y & (SIDE - 1)) << SHIFT) | (x & (SIDE - 1));
      if (!holdsGround(held, slot)) continue;
      around++;
      low = Math.min(low, held.low[slot]);
      high = Math.max(high, held.low[slot]);
    }
  }
  if (around < LEAST_AROUND) return;
  cells.aroundMin[k] = low / QUANTA_PER_METRE;
  cells.aroundMax[k] = high / QUANTA_PER_METRE;
}

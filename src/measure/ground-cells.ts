import type { Column } from '../cloud/columns.js';
import { KeyTable } from './cells/key-table.js';
import { type MaskArea, markInside, zoneMaskOf } from './cells/zone-mask.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

export interface GroundCellsParams {
  /** Edge of a square cell, metres; cells are anchored at multiples of it from world 0, 0. */
  cell: number;
  /** Classes that stand for ground. */
  ground: number[];
  /** Classes that are left out altogether: noise. */
  noise: number[];
  /** Points outside are not looked at; null: all are. */
  within: MaskArea | null;
}

export interface GroundCellsState {
  side: number;
  /** For each class: 0 other, 1 ground, 2 left out. */
  kinds: Uint8Array;
  within: MaskArea | null;
  /** Keys: block x, block y, 0, 0. */
  blocks: KeyTable;
  /** For each block lowest ground, highest ground, lowest other, SLOTS of each; quanta. */
  heights: Int32Array[];
}

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
const MAGIC = 0x47434c31;
/** Heights are kept in 32 bits; what lies farther than 214 km from 0 is kept as if it lay there. */
const HIGHEST = 2 ** 31 - 1;
/** Cells around that must hold ground for a comparison. */
const LEAST_AROUND = 3;

/** Lowest and highest ground and the lowest of everything else, cell by cell. */
export const groundCells: Measurement<GroundCellsParams, GroundCellsState, GroundCells> = {
  id: 'ground-cells',
  version: 1,
  columns: (): readonly Column[] => ['classification'],

  create({ cell, ground, noise, within }) {
    const kinds = new Uint8Array(256);
    for (const c of ground) kinds[c] = 1;
    for (const c of noise) kinds[c] = 2;
    return { side: Math.round(cell * QUANTA_PER_METRE), kinds, within, blocks: new KeyTable(), heights: [] };
  },

  add: addBatch,

  pack(state) {
    const order = state.blocks.sorted();
    const buffer = new ArrayBuffer(16 + order.length * (8 + SLOTS * 12));
    const words = new Int32Array(buffer);
    words.set([MAGIC, state.side, order.length, 0]);
    let at = 4;
    for (const block of order) {
      words[at++] = state.blocks.part(block, 0);
      words[at++] = state.blocks.part(block, 1);
      words.set(state.heights[block], at);
      at += SLOTS * 3;
    }
    return buffer;
  },

  merge(state, packed) {
    const words = new Int32Array(packed);
    if (words[0] !== MAGIC || words[1] !== state.side)
      throw new RangeError('these ground cells were measured otherwise');
    for (let i = 0, at = 4; i < words[2]; i++, at += SLOTS * 3 + 2) {
      const to = openBlock(state, words[at], words[at + 1]);
      for (let k = 0; k < SLOTS; k++) {
        const from = at + 2 + k;
        if (words[from] < to[k]) to[k] = words[from];
        if (words[from + SLOTS] > to[k + SLOTS]) to[k + SLOTS] = words[from + SLOTS];
        if (words[from + 2 * SLOTS] < to[k + 2 * SLOTS]) to[k + 2 * SLOTS] = words[from + 2 * SLOTS];
      }
    }
  },

  finish: (state, { cell }) => cellsOf(state, cell),
};

function openBlock(state: GroundCellsState, bx: number, by: number): Int32Array {
  const index = state.blocks.add(bx, by, 0, 0);
  if (index === state.heights.length) {
    const heights = new Int32Array(SLOTS * 3).fill(HIGHEST);
    heights.fill(-HIGHEST, SLOTS, 2 * SLOTS);
    state.heights.push(heights);
  }
  return state.heights[index];
}

// Scratch of this thread, reused by every batch.
let inside = new Uint8Array(0);

function addBatch(state: GroundCellsState, batch: MeasuredBatch): void {
  const { east, north, up, valid, count } = batch;
  const { classification } = batch.points;
  const { side, kinds } = state;
  let marked = valid;
  if (state.within) {
    if (inside.length < count) inside = new Uint8Array(count);
    markInside(zoneMaskOf(state.within), batch, valid, inside);
    marked = inside;
  }
  const reach = side * SIDE;
  // Coordinates are whole numbers: half of one added, multiplying cannot round across a cell border as dividing cannot.
  const inverse = 1 / side;
  let held: Int32Array | null = null;
  let originX = 0;
  let originY = 0;
  for (let i = 0; i < count; i++) {
    const kind = kinds[classification[i]];
    if (marked[i] === 0 || kind === 2) continue;
    let x = east[i] - originX;
    let y = north[i] - originY;
    if (held === null || x < 0 || x >= reach || y < 0 || y >= reach) {
      const bx = Math.floor(east[i] / reach);
      const by = Math.floor(north[i] / reach);
      held = openBlock(state, bx, by);
      originX = bx * reach;
      originY = by * reach;
      x = east[i] - originX;
      y = north[i] - originY;
    }
    const slot = (((y + 0.5) * inverse) << SHIFT) | ((x + 0.5) * inverse);
    const z = up[i];
    if (kind === 0) {
      if (z < held[slot + 2 * SLOTS]) held[slot + 2 * SLOTS] = Math.max(z, -HIGHEST);
      continue;
    }
    if (z < held[slot]) held[slot] = Math.max(z, -HIGHEST);
    if (z > held[slot + SLOTS]) held[slot + SLOTS] = Math.min(z, HIGHEST);
  }
}

/** Whether a slot holds ground: its highest is not below its lowest. */
function holdsGround(heights: Int32Array, slot: number): boolean {
  return heights[slot + SLOTS] >= heights[slot];
}

function cellsOf(state: GroundCellsState, cell: number): GroundCells {
  const found: { column: number; row: number; block: number; slot: number }[] = [];
  for (const block of state.blocks.sorted()) {
    const heights = state.heights[block];
    for (let slot = 0; slot < SLOTS; slot++) {
      if (!holdsGround(heights, slot)) continue;
      const column = state.blocks.part(block, 0) * SIDE + (slot & (SIDE - 1));
      const row = state.blocks.part(block, 1) * SIDE + (slot >> SHIFT);
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
    const heights = state.heights[block];
    cells.low[k] = heights[slot] / QUANTA_PER_METRE;
    cells.high[k] = heights[slot + SLOTS] / QUANTA_PER_METRE;
    if (heights[slot + 2 * SLOTS] < HIGHEST) cells.otherLow[k] = heights[slot + 2 * SLOTS] / QUANTA_PER_METRE;
    lookAround(state, column, row, cells, k);
  });
  return cells;
}

function lookAround(state: GroundCellsState, column: number, row: number, cells: GroundCells, k: number): void {
  let around = 0;
  let low = HIGHEST;
  let high = -HIGHEST;
  for (let y = row - 1; y <= row + 1; y++) {
    for (let x = column - 1; x <= column + 1; x++) {
      if (x === column && y === row) continue;
      const block = state.blocks.find(x >> SHIFT, y >> SHIFT, 0, 0);
      if (block < 0) continue;
      const slot = ((y & (SIDE - 1)) << SHIFT) | (x & (SIDE - 1));
      if (!holdsGround(state.heights[block], slot)) continue;
      around++;
      low = Math.min(low, state.heights[block][slot]);
      high = Math.max(high, state.heights[block][slot]);
    }
  }
  if (around < LEAST_AROUND) return;
  cells.aroundMin[k] = low / QUANTA_PER_METRE;
  cells.aroundMax[k] = high / QUANTA_PER_METRE;
}

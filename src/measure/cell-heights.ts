import type { Column } from '../cloud/columns.js';
import { Fault } from '../fault.js';
import { KeyTable } from './cells/key-table.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

export interface CellHeightsParams {
  /** Edge of a square cell, metres; cells are anchored at multiples of it from world 0, 0. */
  cell: number;
  /** Points taken: those of pulses with a single return, or the last return of each pulse. */
  returns: 'single' | 'last';
}

export interface CellHeightsState {
  side: number;
  single: boolean;
  /** Keys: pass, block x, block y, 0. */
  blocks: KeyTable;
  cells: BlockCells[];
}

/** Cells of one block and pass: points, lowest and highest height, sum of heights; quanta. */
interface BlockCells {
  points: Uint32Array;
  low: Int32Array;
  high: Int32Array;
  sum: Float64Array;
}

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
const BLOCK_BYTES = SLOTS * (4 + 4 + 4 + 8);
const MAGIC = 0x43484731;
const LOW_NOISE = 7;
const HIGH_NOISE = 18;
/** Heights are whole quanta in 32 bits; a sum of 2^32 of them stays below 2^53 up to 200 km. */
const HIGHEST = 2 ** 31 - 1;

/**
 * Lowest, highest and mean height in world-anchored cells, pass by pass: what the published raster methods for the
 * precision within a swath and between swaths are worked out from. Noise classes 7 and 18 are left out.
 */
export const cellHeights: Measurement<CellHeightsParams, CellHeightsState, PassHeights[]> = {
  id: 'cell-heights',
  version: 1,
  columns: (): readonly Column[] => ['returns', 'classification'],

  create: ({ cell, returns }) => ({
    side: Math.round(cell * QUANTA_PER_METRE),
    single: returns === 'single',
    blocks: new KeyTable(),
    cells: [],
  }),

  add: addBatch,

  pack(state) {
    const order = state.blocks.sorted();
    const head = 16 + Math.ceil((order.length * 12) / 8) * 8;
    const buffer = new ArrayBuffer(head + order.length * BLOCK_BYTES);
    const words = new Int32Array(buffer, 0, 4 + order.length * 3);
    words.set([MAGIC, state.side, order.length, state.single ? 1 : 0]);
    for (let i = 0; i < order.length; i++) {
      for (let k = 0; k < 3; k++) words[4 + i * 3 + k] = state.blocks.part(order[i], k);
      const from = state.cells[order[i]];
      const to = viewBlock(buffer, head + i * BLOCK_BYTES);
      to.sum.set(from.sum);
      to.points.set(from.points);
      to.low.set(from.low);
      to.high.set(from.high);
    }
    return buffer;
  },

  merge(state, packed) {
    const [magic, side, count, single] = new Int32Array(packed, 0, 4);
    if (magic !== MAGIC || side !== state.side || (single === 1) !== state.single)
      throw new RangeError('these cell heights were measured otherwise');
    const keys = new Int32Array(packed, 16, count * 3);
    const head = 16 + Math.ceil((count * 12) / 8) * 8;
    for (let i = 0; i < count; i++) {
      const from = viewBlock(packed, head + i * BLOCK_BYTES);
      const to = openBlock(state, keys[i * 3], keys[i * 3 + 1], keys[i * 3 + 2]);
      for (let k = 0; k < SLOTS; k++) {
        to.sum[k] += from.sum[k];
        to.points[k] += from.points[k];
        if (from.low[k] < to.low[k]) to.low[k] = from.low[k];
        if (from.high[k] > to.high[k]) to.high[k] = from.high[k];
      }
    }
  },

  finish(state) {
    const passes = new Map<number, number[]>();
    for (const block of state.blocks.sorted()) {
      const pass = state.blocks.part(block, 0);
      const known = passes.get(pass);
      if (known) known.push(block);
      else passes.set(pass, [block]);
    }
    return [...passes.entries()].map(([pass, blocks]) => heightsOfPass(state, pass, blocks));
  },
};

function viewBlock(buffer: ArrayBuffer, at: number): BlockCells {
  return {
    sum: new Float64Array(buffer, at, SLOTS),
    points: new Uint32Array(buffer, at + SLOTS * 8, SLOTS),
    low: new Int32Array(buffer, at + SLOTS * 12, SLOTS),
    high: new Int32Array(buffer, at + SLOTS * 16, SLOTS),
  };
}

function openBlock(state: CellHeightsState, pass: number, bx: number, by: number): BlockCells {
  const index = state.blocks.add(pass, bx, by, 0);
  if (index === state.cells.length) {
    state.cells.push({
      points: new Uint32Array(SLOTS),
      low: new Int32Array(SLOTS).fill(HIGHEST),
      high: new Int32Array(SLOTS).fill(-HIGHEST),
      sum: new Float64Array(SLOTS),
    });
  }
  return state.cells[index];
}

function addBatch(state: CellHeightsState, batch: MeasuredBatch): void {
  const { east, north, up, pass, valid, count } = batch;
  const { returnNumber, returnCount, classification } = batch.points;
  const { side, single } = state;
  const reach = side * SIDE;
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
    if (held === null || x < 0 || x >= reach || y < 0 || y >= reach || pass[i] !== heldPass) {
      const bx = Math.floor(east[i] / reach);
      const by = Math.floor(north[i] / reach);
      heldPass = pass[i];
      held = openBlock(state, heldPass, bx, by);
      originX = bx * reach;
      originY = by * reach;
      x = east[i] - originX;
      y = north[i] - originY;
    }
    const slot = (Math.floor(y / side) << SHIFT) | Math.floor(x / side);
    const z = up[i];
    if (z > HIGHEST || z < -HIGHEST) throw tooHigh(z);
    held.points[slot]++;
    held.sum[slot] += z;
    if (z < held.low[slot]) held.low[slot] = z;
    if (z > held.high[slot]) held.high[slot] = z;
  }
}

function heightsOfPass(state: CellHeightsState, pass: number, blocks: readonly number[]): PassHeights {
  const found: { column: number; row: number; block: number; slot: number }[] = [];
  for (const block of blocks) {
    const { points } = state.cells[block];
    for (let slot = 0; slot < SLOTS; slot++) {
      if (points[slot] === 0) continue;
      found.push({
        column: state.blocks.part(block, 1) * SIDE + (slot & (SIDE - 1)),
        row: state.blocks.part(block, 2) * SIDE + (slot >> SHIFT),
        block,
        slot,
      });
    }
  }
  found.sort((a, b) => a.row - b.row || a.column - b.column);
  const metres = (pick: (cells: BlockCells, slot: number) => number) =>
    Float64Array.from(found, ({ block, slot }) => pick(state.cells[block], slot) / QUANTA_PER_METRE);
  return {
    pass,
    column: Int32Array.from(found, (f) => f.column),
    row: Int32Array.from(found, (f) => f.row),
    points: Uint32Array.from(found, ({ block, slot }) => state.cells[block].points[slot]),
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

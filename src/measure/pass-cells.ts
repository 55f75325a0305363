import { countRuns, RUN_WORDS } from '../kernel/cell-runs.js';
import { CellGrid, type CellLayout } from './cells/cell-grid.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** Cells, and which points count. */
export interface PassCellsParams {
  /** Edge of a square cell, metres; cells are anchored at multiples of it from world 0, 0. */
  cell: number;
  /** True: only first returns count. */
  firstReturns?: boolean;
}

/** Counts of points by cell and pass, while they are collected. */
export interface PassCellsState {
  side: number;
  firstReturns: boolean;
  grid: CellGrid<typeof LAYOUT.columns>;
}

/** Occupied cells, sorted by row, then column, with the points of all passes and the set of passes that saw the cell. */
export interface PassCells {
  cell: number;
  column: Int32Array;
  row: Int32Array;
  points: Float64Array;
  /** Place in `sets`. */
  set: Int32Array;
  /** Pass keys, ascending; in order of first appearance. */
  sets: number[][];
}

const SHIFT = 6;
const SIDE = 1 << SHIFT;
const SLOTS = SIDE * SIDE;

/** Keys: block column, block row, pass. */
const LAYOUT = {
  id: 'pass-cells',
  version: 2,
  keys: 3,
  cells: SLOTS,
  columns: { points: { type: 'u32', merge: 'sum' } },
} as const satisfies CellLayout;

/** Points of each pass in world-anchored square cells: where the delivery is, how dense, and how often it was driven. */
export const passCells: Measurement<'pass-cells', PassCellsParams, PassCellsState, PassCells> = {
  id: 'pass-cells',
  parameters: { cell: 'required', firstReturns: 'optional' },
  version: LAYOUT.version,
  columns: ({ firstReturns }) => (firstReturns ? ['returns'] : []),
  create({ cell, firstReturns = false }) {
    const side = Math.round(cell * QUANTA_PER_METRE);
    return { side, firstReturns, grid: new CellGrid(LAYOUT, [side]) };
  },

  add: addBatch,

  pack: ({ grid }) => grid.pack(),
  merge: ({ grid }, packed) => grid.merge(packed),

  finish({ grid }, { cell }) {
    const strips = stripsOf(grid);
    const total = countOccupied(grid, strips);
    const found: PassCells = {
      cell,
      column: new Int32Array(total),
      row: new Int32Array(total),
      points: new Float64Array(total),
      set: new Int32Array(total),
      sets: [],
    };
    const sets = new PassSets(found.sets);
    let at = 0;
    for (const strip of strips) {
      for (let y = 0; y < SIDE; y++) {
        for (const { column, row, blocks } of strip) {
          for (let x = 0; x < SIDE; x++) {
            let points = 0;
            sets.begin();
            for (const block of blocks) {
              const n = grid.blocks[block].points[y * SIDE + x];
              if (n === 0) continue;
              points += n;
              sets.add(grid.key(block, 2));
            }
            if (points === 0) continue;
            found.column[at] = column * SIDE + x;
            found.row[at] = row * SIDE + y;
            found.points[at] = points;
            found.set[at++] = sets.end();
          }
        }
      }
    }
    return found;
  },
};

/** Sets of passes met so far, found again by their members without building a key of text. */
class PassSets {
  readonly #sets: number[][];
  /** Node and pass -> node: a tree in which every node is the set of the passes on the path to it. */
  readonly #next = new Map<number, number>();
  readonly #members: number[][] = [[]];
  /** Node -> place in the list of sets, -1 when the node is only on the way to one. */
  readonly #index: number[] = [-1];
  #node = 0;

  constructor(sets: number[][]) {
    this.#sets = sets;
  }

  begin(): void {
    this.#node = 0;
  }

  add(pass: number): void {
    const key = this.#node * 0x100000000 + (pass >>> 0);
    let node = this.#next.get(key);
    if (node === undefined) {
      node = this.#members.length;
      this.#members.push([...this.#members[this.#node], pass]);
      this.#index.push(-1);
      this.#next.set(key, node);
    }
    this.#node = node;
  }

  end(): number {
    if (this.#index[this.#node] < 0) {
      this.#index[this.#node] = this.#sets.length;
      this.#sets.push(this.#members[this.#node]);
    }
    return this.#index[this.#node];
  }
}

interface Column {
  column: number;
  row: number;
  /** Blocks of the passes, ascending. */
  blocks: number[];
}

/** Blocks grouped by block row from south to north, in each row by block column, in each column by pass. */
function stripsOf(grid: PassCellsState['grid']): Column[][] {
  const rows = new Map<number, Map<number, Column>>();
  for (const block of grid.sorted()) {
    const [column, row] = [grid.key(block, 0), grid.key(block, 1)];
    let strip = rows.get(row);
    if (!strip) {
      strip = new Map();
      rows.set(row, strip);
    }
    const known = strip.get(column);
    if (known) known.blocks.push(block);
    else strip.set(column, { column, row, blocks: [block] });
  }
  return [...rows.keys()].sort((a, b) => a - b).map((row) => [...rows.get(row)!.values()]);
}

function countOccupied(grid: PassCellsState['grid'], strips: Column[][]): number {
  let total = 0;
  for (const strip of strips) {
    for (const { blocks } of strip) {
      for (let k = 0; k < SLOTS; k++) {
        for (const block of blocks) {
          if (grid.blocks[block].points[k] === 0) continue;
          total++;
          break;
        }
      }
    }
  }
  return total;
}

// Scratch of this thread: 1 for a first return that counts.
let marked = new Uint8Array(0);

function firstReturns({ points, valid, count }: MeasuredBatch): Uint8Array {
  if (marked.length < count) marked = new Uint8Array(count);
  const { returnNumber } = points;
  for (let i = 0; i < count; i++) marked[i] = valid[i] === 1 && returnNumber[i] <= 1 ? 1 : 0;
  return marked;
}

function addBatch(state: PassCellsState, batch: MeasuredBatch): void {
  const counted = state.firstReturns ? { ...batch, valid: firstReturns(batch) } : batch;
  countRuns(counted, state.side, (runs, count) => addRuns(state, runs, count));
}

/** Most runs follow another of their block. */
function addRuns(state: PassCellsState, words: Int32Array, count: number): void {
  let held: Uint32Array | null = null;
  let blockX = 0;
  let blockY = 0;
  let blockPass = 0;
  for (let i = 0, w = 0; i < count; i++, w += RUN_WORDS) {
    const column = words[w];
    const row = words[w + 1];
    const pass = words[w + 2];
    if (held === null || column >> SHIFT !== blockX || row >> SHIFT !== blockY || pass !== blockPass) {
      blockX = column >> SHIFT;
      blockY = row >> SHIFT;
      blockPass = pass;
      held = state.grid.open(blockX, blockY, pass).points;
    }
    held[((row & (SIDE - 1)) << SHIFT) | (column & (SIDE - 1))] += words[w + 3];
  }
}

import { countRuns, RUN_WORDS } from '../kernel/cell-runs.js';
import { KeyTable } from './cells/key-table.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

export interface PassCellsParams {
  /** Edge of a square cell, metres; cells are anchored at multiples of it from world 0, 0. */
  cell: number;
  /** True: only first returns count. */
  firstReturns?: boolean;
}

export interface PassCellsState {
  side: number;
  firstReturns: boolean;
  /** Keys: block x, block y, pass, 0. */
  blocks: KeyTable;
  counts: Uint32Array[];
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
const MAGIC = 0x50435331;

/** Points of each pass in world-anchored square cells: where the delivery is, how dense, and how often it was driven. */
export const passCells: Measurement<PassCellsParams, PassCellsState, PassCells> = {
  id: 'pass-cells',
  version: 1,
  columns: ({ firstReturns }) => (firstReturns ? ['returns'] : []),
  create: ({ cell, firstReturns = false }) => ({
    side: Math.round(cell * QUANTA_PER_METRE),
    firstReturns,
    blocks: new KeyTable(),
    counts: [],
  }),

  add: addBatch,

  pack(state) {
    const order = state.blocks.sorted();
    const buffer = new ArrayBuffer(16 + order.length * (12 + SLOTS * 4));
    const words = new Int32Array(buffer);
    words.set([MAGIC, state.side, order.length, 0]);
    const counts = new Uint32Array(buffer);
    let at = 4;
    for (const block of order) {
      for (let k = 0; k < 3; k++) words[at++] = state.blocks.part(block, k);
      counts.set(state.counts[block], at);
      at += SLOTS;
    }
    return buffer;
  },

  merge(state, packed) {
    const words = new Int32Array(packed);
    const counts = new Uint32Array(packed);
    if (words[0] !== MAGIC || words[1] !== state.side) throw new RangeError('these pass cells were measured otherwise');
    for (let i = 0, at = 4; i < words[2]; i++, at += SLOTS + 3) {
      const target = openBlock(state, words[at], words[at + 1], words[at + 2]);
      addCounts(counts, at + 3, target);
    }
  },

  finish(state, { cell }) {
    const strips = stripsOf(state.blocks);
    const total = countOccupied(state, strips);
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
              const n = state.counts[block][y * SIDE + x];
              if (n === 0) continue;
              points += n;
              sets.add(state.blocks.part(block, 2));
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
  /** Node and pass -> node: a tree whose every node stands for the passes on the way to it. */
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
function stripsOf(keys: KeyTable): Column[][] {
  const rows = new Map<number, Map<number, Column>>();
  for (const block of keys.sorted()) {
    const [column, row] = [keys.part(block, 0), keys.part(block, 1)];
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

function countOccupied(state: PassCellsState, strips: Column[][]): number {
  let total = 0;
  for (const strip of strips) {
    for (const { blocks } of strip) {
      for (let k = 0; k < SLOTS; k++) {
        for (const block of blocks) {
          if (state.counts[block][k] === 0) continue;
          total++;
          break;
        }
      }
    }
  }
  return total;
}

function openBlock(state: PassCellsState, bx: number, by: number, pass: number): Uint32Array {
  const index = state.blocks.add(bx, by, pass, 0);
  if (index === state.counts.length) state.counts.push(new Uint32Array(SLOTS));
  return state.counts[index];
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

function addCounts(from: Uint32Array, at: number, to: Uint32Array): void {
  for (let k = 0; k < SLOTS; k++) to[k] += from[at + k];
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
      held = openBlock(state, blockX, blockY, pass);
    }
    held[((row & (SIDE - 1)) << SHIFT) | (column & (SIDE - 1))] += words[w + 3];
  }
}

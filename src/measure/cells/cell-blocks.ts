import { KeyTable } from './key-table.js';

const SHIFT = 4;
/** Cells of a block, each way and in all. */
const SIDE = 1 << SHIFT;
export const BLOCK_CELLS = SIDE * SIDE;

/**
 * Square horizontal cells, numbered by block, for values that are never packed: the caller keeps an array of BLOCK_CELLS
 * values for each block. The last block is remembered, so that most neighbours are found without the table.
 */
export class CellBlocks {
  readonly #keys = new KeyTable();
  #column = 0;
  #row = 0;
  #layer = 0;
  /** The last block that was found. */
  #last = -1;

  /** How many blocks there are. */
  get size(): number {
    return this.#keys.size;
  }

  /** Number of the block of a cell; the next free one if it is new. */
  add(column: number, row: number, layer = 0): number {
    if (this.#isLast(column, row, layer)) return this.#last;
    return this.#note(column, row, layer, this.#keys.add(row >> SHIFT, column >> SHIFT, layer, 0));
  }

  /** Number of the block of a cell, or -1. */
  find(column: number, row: number, layer = 0): number {
    if (this.#isLast(column, row, layer)) return this.#last;
    const at = this.#keys.find(row >> SHIFT, column >> SHIFT, layer, 0);
    return at < 0 ? at : this.#note(column, row, layer, at);
  }

  /** Calls `visit` for every cell of every block, empty or not, sorted by row, then column. For blocks of one layer. */
  walk(visit: (column: number, row: number, block: number, cell: number) => void): void {
    const order = this.#keys.sorted();
    for (let from = 0; from < order.length; ) {
      const row = this.#keys.part(order[from], 0);
      let to = from;
      while (to < order.length && this.#keys.part(order[to], 0) === row) to++;
      for (let y = 0; y < SIDE; y++) {
        for (let i = from; i < to; i++) {
          const column = this.#keys.part(order[i], 1) << SHIFT;
          for (let x = 0; x < SIDE; x++) visit(column + x, (row << SHIFT) + y, order[i], y * SIDE + x);
        }
      }
      from = to;
    }
  }

  #isLast(column: number, row: number, layer: number): boolean {
    return this.#last >= 0 && column >> SHIFT === this.#column && row >> SHIFT === this.#row && layer === this.#layer;
  }

  #note(column: number, row: number, layer: number, at: number): number {
    this.#column = column >> SHIFT;
    this.#row = row >> SHIFT;
    this.#layer = layer;
    this.#last = at;
    return at;
  }
}

/** Index of a cell in its block, 0 to BLOCK_CELLS - 1. */
export function cellInBlock(column: number, row: number): number {
  return ((row & (SIDE - 1)) << SHIFT) | (column & (SIDE - 1));
}

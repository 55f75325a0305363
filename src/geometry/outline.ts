import { enclosedSquares } from './enclosed-squares.js';

/**
 * Cells of a sparse grid, sorted by row, then column. `inside` marks an empty cell that is a hole: enclosed by occupied
 * cells, unlike the empty cells around the data.
 */
export interface OutlinedCells {
  column: Int32Array;
  row: Int32Array;
  /** Index into the occupied cells handed in, or -1 for an empty cell enclosed by them. */
  source: Int32Array;
  /** 1 for an occupied cell on the rim: one of its eight neighbours is outside the data. */
  rim: Uint8Array;
}

const SHIFT = 6;
const SIDE = 1 << SHIFT;
const LAST = SIDE - 1;
const CELLS = SIDE * SIDE;

/**
 * Finds the outline of occupied cells and the empty cells within it. A cell is outside when it can be reached from beyond
 * the data in steps along rows and columns without passing an opening of `neck` cells or less. Time and memory grow with
 * the number of occupied blocks of 64 x 64 cells, not with the bounding box: a single point far away costs one block.
 * @param column,row sorted by row, then column
 */
export function outlineCells(column: Int32Array, row: Int32Array, neck: number): OutlinedCells {
  const map = new BlockMap(column, row);
  const radius = Math.ceil(neck / 2);
  if (radius > 0) map.markNear(radius);
  map.floodOutside();
  for (let step = 0; step < radius; step++) map.widen();
  return map.collect();
}

const EMPTY = 0;
const OCCUPIED = 1;
/** Empty, with an occupied cell within the radius: the outside does not enter here. */
const NEAR = 2;
const OUTSIDE = 255;

/** Cells in blocks that are numbered in the order of their rows, then columns. In its block a cell is at row * SIDE + column. */
class BlockMap {
  readonly #column: Int32Array;
  readonly #row: Int32Array;
  /** Column and row of each block, and numbers of the 3 x 3 blocks around it, row by row; -1 where there is none. */
  readonly #blockColumn: Int32Array;
  readonly #blockRow: Int32Array;
  readonly #around: Int32Array;
  readonly #cells: Uint8Array[];
  /** The block of each occupied cell. */
  readonly #blockOf: Int32Array;

  constructor(column: Int32Array, row: Int32Array) {
    this.#column = column;
    this.#row = row;
    const blocks = blocksOf(column, row);
    this.#blockColumn = Int32Array.from(blocks, ([x]) => x);
    this.#blockRow = Int32Array.from(blocks, ([, y]) => y);
    const numbers = new Map<number, Map<number, number>>();
    blocks.forEach(([x, y], number) => {
      const line = numbers.get(y);
      if (line) line.set(x, number);
      else numbers.set(y, new Map([[x, number]]));
    });
    this.#around = new Int32Array(blocks.length * 9);
    blocks.forEach(([x, y], number) => {
      for (let k = 0; k < 9; k++)
        this.#around[number * 9 + k] = numbers.get(y + Math.floor(k / 3) - 1)?.get(x + (k % 3) - 1) ?? -1;
    });
    this.#cells = blocks.map(() => new Uint8Array(CELLS));
    this.#blockOf = new Int32Array(column.length);
    let block = 0;
    for (let i = 0; i < column.length; i++) {
      const x = column[i] >> SHIFT;
      const y = row[i] >> SHIFT;
      if (this.#blockColumn[block] !== x || this.#blockRow[block] !== y) block = numbers.get(y)!.get(x)!;
      this.#blockOf[i] = block;
      this.#cells[block][placeOf(column[i], row[i])] = OCCUPIED;
    }
  }

  /** What is at row `y` and column `x` of a block, both at most SIDE beyond its ends; OUTSIDE where there is no block. */
  #at(block: number, x: number, y: number): number {
    const number = this.#around[block * 9 + ((y >> SHIFT) + 1) * 3 + (x >> SHIFT) + 1];
    return number < 0 ? OUTSIDE : this.#cells[number][placeOf(x, y)];
  }

  /** Marks the empty cells that have an occupied cell within the radius, in rows and columns. */
  markNear(radius: number): void {
    for (let i = 0; i < this.#blockOf.length; i++) {
      const block = this.#blockOf[i];
      const cells = this.#cells[block];
      const x = this.#column[i] & LAST;
      const y = this.#row[i] & LAST;
      if (x >= radius && x + radius < SIDE && y >= radius && y + radius < SIDE) {
        for (let dy = -radius; dy <= radius; dy++) {
          const middle = (y + dy) * SIDE + x;
          for (let at = middle - radius; at <= middle + radius; at++) if (cells[at] === EMPTY) cells[at] = NEAR;
        }
        continue;
      }
      for (let dy = -radius; dy <= radius; dy++) {
        for (let dx = -radius; dx <= radius; dx++) {
          const number = this.#around[block * 9 + (((y + dy) >> SHIFT) + 1) * 3 + ((x + dx) >> SHIFT) + 1];
          const place = placeOf(x + dx, y + dy);
          if (number >= 0 && this.#cells[number][place] === EMPTY) this.#cells[number][place] = NEAR;
        }
      }
    }
  }

  /** Flood fill through empty cells that no occupied cell is near, from the sides at which no other block lies. */
  floodOutside(): void {
    const around = this.#around;
    const stack: number[] = [];
    const enter = (block: number, place: number) => {
      if (block < 0 || this.#cells[block][place] !== EMPTY) return;
      this.#cells[block][place] = OUTSIDE;
      stack.push(block, place);
    };
    for (let block = 0; block < this.#cells.length; block++) {
      const at = block * 9;
      for (let k = 0; k < SIDE; k++) {
        if (around[at + 1] < 0) enter(block, k);
        if (around[at + 7] < 0) enter(block, CELLS - SIDE + k);
        if (around[at + 3] < 0) enter(block, k * SIDE);
        if (around[at + 5] < 0) enter(block, k * SIDE + LAST);
      }
    }
    while (stack.length > 0) {
      const place = stack.pop()!;
      const block = stack.pop()!;
      const x = place & LAST;
      const at = block * 9;
      if (x > 0) enter(block, place - 1);
      else enter(around[at + 3], place + LAST);
      if (x < LAST) enter(block, place + 1);
      else enter(around[at + 5], place - LAST);
      if (place >= SIDE) enter(block, place - SIDE);
      else enter(around[at + 1], place + CELLS - SIDE);
      if (place < CELLS - SIDE) enter(block, place + SIDE);
      else enter(around[at + 7], place - CELLS + SIDE);
    }
  }

  /** Adds to the outside the empty cells that touch it, corners included. */
  widen(): void {
    const turned: number[] = [];
    for (let block = 0; block < this.#cells.length; block++) {
      const cells = this.#cells[block];
      for (let place = 0; place < CELLS; place++) {
        const state = cells[place];
        if (state !== OUTSIDE && state !== OCCUPIED && this.#touchesOutside(block, place)) turned.push(block, place);
      }
    }
    for (let i = 0; i < turned.length; i += 2) this.#cells[turned[i]][turned[i + 1]] = OUTSIDE;
  }

  #touchesOutside(block: number, place: number): boolean {
    const x = place & LAST;
    const y = place >> SHIFT;
    if (x > 0 && x < LAST && y > 0 && y < LAST) {
      const cells = this.#cells[block];
      return (
        cells[place - SIDE - 1] === OUTSIDE ||
        cells[place - SIDE] === OUTSIDE ||
        cells[place - SIDE + 1] === OUTSIDE ||
        cells[place - 1] === OUTSIDE ||
        cells[place + 1] === OUTSIDE ||
        cells[place + SIDE - 1] === OUTSIDE ||
        cells[place + SIDE] === OUTSIDE ||
        cells[place + SIDE + 1] === OUTSIDE
      );
    }
    for (let dy = -1; dy <= 1; dy++) {
      for (let dx = -1; dx <= 1; dx++) if (this.#at(block, x + dx, y + dy) === OUTSIDE) return true;
    }
    return false;
  }

  collect(): OutlinedCells {
    let holes = 0;
    for (const cells of this.#cells)
      for (let place = 0; place < CELLS; place++) if (cells[place] === EMPTY || cells[place] === NEAR) holes++;
    const total = this.#column.length + holes;
    const out: OutlinedCells = {
      column: new Int32Array(total),
      row: new Int32Array(total),
      source: new Int32Array(total),
      rim: new Uint8Array(total),
    };
    let at = 0;
    let source = 0;
    for (let from = 0, to = 0; from < this.#cells.length; from = to) {
      while (to < this.#cells.length && this.#blockRow[to] === this.#blockRow[from]) to++;
      for (let y = 0; y < SIDE; y++) {
        for (let block = from; block < to; block++) {
          const cells = this.#cells[block];
          for (let place = y * SIDE; place < y * SIDE + SIDE; place++) {
            if (cells[place] === OUTSIDE) continue;
            const occupied = cells[place] === OCCUPIED;
            out.column[at] = this.#blockColumn[block] * SIDE + (place & LAST);
            out.row[at] = this.#blockRow[block] * SIDE + y;
            out.source[at] = occupied ? source++ : -1;
            out.rim[at++] = occupied && this.#touchesOutside(block, place) ? 1 : 0;
          }
        }
      }
    }
    return out;
  }
}

function placeOf(x: number, y: number): number {
  return ((y & LAST) << SHIFT) | (x & LAST);
}

/** Columns and rows of the blocks that hold a cell, and of those that they enclose; sorted by row, then column. */
function blocksOf(column: Int32Array, row: Int32Array): (readonly [column: number, row: number])[] {
  const lines = new Map<number, Set<number>>();
  let line: Set<number> | undefined;
  for (let i = 0, y = Number.NaN, x = Number.NaN; i < column.length; i++) {
    if (row[i] >> SHIFT !== y) {
      y = row[i] >> SHIFT;
      x = Number.NaN;
      line = lines.get(y);
      if (!line) {
        line = new Set();
        lines.set(y, line);
      }
    }
    if (column[i] >> SHIFT === x) continue;
    x = column[i] >> SHIFT;
    line!.add(x);
  }
  const occupied = [...lines].flatMap(([y, xs]) => [...xs].map((x) => [x, y] as const));
  return [...occupied, ...enclosedSquares(occupied)].sort((a, b) => a[1] - b[1] || a[0] - b[0]);
}

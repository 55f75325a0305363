import { allocate, inputAddress, loops, STRIP } from './loops.js';
import { stripAddresses, type WorldPoints } from './placed-points.js';

/**
 * Times are kept in blocks of 4 x 4 cells until they are passed on: small enough that clouds whose points are in random
 * order take little more time than others.
 */
const MAX_BLOCKS = 4096;
/** Two f64 a cell. */
const BLOCK_BYTES = 4 * 4 * 16;
const ENTRIES = 16_384;
const time = allocate(Float64Array, STRIP);
const blocks = allocate(Uint8Array, MAX_BLOCKS * BLOCK_BYTES);
const heads = allocate(Int32Array, MAX_BLOCKS * 4);
const table = allocate(Int32Array, ENTRIES);
loops.prepareTimeCells(blocks.address, heads.address, MAX_BLOCKS, table.address, ENTRIES);

/** Layout of a cell record: number of i32 words and of f64 numbers, and the index of the earliest and latest time among the latter. */
export const TIME_CELL = { words: 8, numbers: 4, low: 2, high: 3 } as const;
const BATCH = 1024;
const numbers = allocate(Float64Array, BATCH * TIME_CELL.numbers);

/** Cells of one pass with their times, seconds. The arrays are reused: read them before returning. */
export interface TimeCells {
  count: number;
  /** Cell i starts at `i * TIME_CELL.words`: column, row, pass. */
  readonly words: Int32Array;
  readonly numbers: Float64Array;
}

const cells: TimeCells = {
  count: 0,
  words: new Int32Array(numbers.view.buffer, numbers.address, numbers.view.length * 2),
  numbers: numbers.view,
};

/** Receives cells; the same cell may come again. */
export type OnTimeCells = (cells: TimeCells) => void;

let current: OnTimeCells | null = null;

/**
 * Earliest and latest time (seconds) of each pass in square cells of edge `side`, world units. Times that are not finite are
 * left out. Cells are collected and passed to `onCells` when the memory is full, when another callback is used, or by
 * `flushTimes`.
 */
export function timeCells(
  points: Omit<WorldPoints, 'up'>,
  times: Float64Array,
  side: number,
  onCells: OnTimeCells,
): void {
  if (current !== onCells && current !== null) flushTimes(current);
  current = onCells;
  for (let from = 0; from < points.count; from += STRIP) {
    const { east, north, pass, valid, count } = stripAddresses(points, from);
    const stamps = inputAddress(times, from, count, time);
    for (let done = 0; done < count; ) {
      const eights = done * 8;
      done += loops.timeCells(
        east + eights,
        north + eights,
        pass + done * 4,
        valid + done,
        stamps + eights,
        count - done,
        side,
      );
      if (done < count) flush(onCells);
    }
  }
}

/** Passes the cells collected for a callback to it. */
export function flushTimes(onCells: OnTimeCells): void {
  if (current !== onCells) return;
  current = null;
  flush(onCells);
}

/** Discards the cells collected for a callback. */
export function dropTimes(onCells: OnTimeCells): void {
  if (current !== onCells) return;
  current = null;
  loops.clearTimeCells();
}

function flush(onCells: OnTimeCells): void {
  try {
    for (;;) {
      cells.count = loops.copyTimeCells(numbers.address, BATCH);
      if (cells.count === 0) return;
      onCells(cells);
    }
  } finally {
    loops.clearTimeCells();
  }
}

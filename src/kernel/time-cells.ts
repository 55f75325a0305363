import { allocate, inputAddress, loops, STRIP } from './loops.js';
import { stripAddresses, type WorldPoints } from './placed-points.js';

/**
 * Times are kept by blocks of 4 x 4 cells until they are handed on, small enough that clouds whose points follow one another
 * from anywhere to anywhere cost little more than others.
 */
const MOST_BLOCKS = 4096;
/** Two numbers a cell. */
const BLOCK_BYTES = 4 * 4 * 16;
const ENTRIES = 16_384;
const time = allocate(Float64Array, STRIP);
const blocks = allocate(Uint8Array, MOST_BLOCKS * BLOCK_BYTES);
const heads = allocate(Int32Array, MOST_BLOCKS * 4);
const table = allocate(Int32Array, ENTRIES);
loops.prepareTimes(blocks.address, heads.address, MOST_BLOCKS, table.address, ENTRIES);

/** Words and numbers of a cell that is handed on, and where in it earliest and latest time stand. */
export const SEEN_CELL = { words: 8, numbers: 4, low: 2, high: 3 } as const;
const AT_ONCE = 1024;
const numbers = allocate(Float64Array, AT_ONCE * SEEN_CELL.numbers);

/** Cells that a pass saw. Reused: read them before returning. */
export interface SeenCells {
  count: number;
  /** Cell i from `i * SEEN_CELL.words`: column, row, pass. */
  readonly words: Int32Array;
  readonly numbers: Float64Array;
}

const cells: SeenCells = {
  count: 0,
  words: new Int32Array(numbers.view.buffer, numbers.address, numbers.view.length * 2),
  numbers: numbers.view,
};

/** Takes cells; the same one may come again. */
export type TimeSink = (cells: SeenCells) => void;

let owner: TimeSink | null = null;

/**
 * Earliest and latest time of each pass in square cells of edge `side`; times that are not a finite number are left out.
 * What came together goes to `sink` when it is much, when another sink comes, or with `handOnTimes`.
 */
export function timeCells(points: Omit<WorldPoints, 'up'>, times: Float64Array, side: number, sink: TimeSink): void {
  if (owner !== sink && owner !== null) handOnTimes(owner);
  owner = sink;
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
      if (done < count) handOn(sink);
    }
  }
}

/** Hands on what came together for a sink. */
export function handOnTimes(sink: TimeSink): void {
  if (owner !== sink) return;
  owner = null;
  handOn(sink);
}

/** Forgets what came together for a sink. */
export function dropTimes(sink: TimeSink): void {
  if (owner !== sink) return;
  owner = null;
  loops.forgetTimes();
}

function handOn(sink: TimeSink): void {
  try {
    for (;;) {
      cells.count = loops.takeTimes(numbers.address, AT_ONCE);
      if (cells.count === 0) return;
      sink(cells);
    }
  } finally {
    loops.forgetTimes();
  }
}

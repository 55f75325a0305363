import { loops, reach, STRIP, takePlace } from './loops.js';
import { type PlacedPoints, reachStrip } from './placed-points.js';

/** A block is so many cells wide, and holds two numbers a cell, row by row: earliest time, its sign turned, and latest. */
export const TIMES_WIDE = 16;
const NUMBERS = 2 * TIMES_WIDE * TIMES_WIDE;

/** Blocks that are kept until they are handed on. */
const MOST_BLOCKS = 192;
const ENTRIES = 1024;
const time = takePlace(Float64Array, STRIP);
const blocks = takePlace(Float64Array, MOST_BLOCKS * NUMBERS);
const heads = takePlace(Int32Array, MOST_BLOCKS * 4);
const table = takePlace(Int32Array, ENTRIES);
loops.prepareTimes(blocks.at, heads.at, MOST_BLOCKS, table.at, ENTRIES);

/** Takes the times of one block of cells, infinite where nothing was seen; they are to be copied before it returns. */
export type TimeSink = (column: number, row: number, pass: number, times: Float64Array) => void;

let owner: TimeSink | null = null;

/**
 * Earliest and latest time of each pass in square cells of edge `side`; times that are not a finite number are left out.
 * What came together goes to `sink` when it is much, when another sink comes, or with `handOnTimes`.
 */
export function timeCells(points: Omit<PlacedPoints, 'up'>, times: Float64Array, side: number, sink: TimeSink): void {
  if (owner !== sink && owner !== null) handOnTimes(owner);
  owner = sink;
  for (let from = 0; from < points.count; from += STRIP) {
    const { east, north, pass, live, count } = reachStrip(points, from);
    const stamps = reach(times, from, count, time);
    let done = 0;
    while (done < count) {
      const eights = done * 8;
      const more = loops.timeCells(
        east + eights,
        north + eights,
        pass + done * 4,
        live + done,
        stamps + eights,
        count - done,
        side,
      );
      done += more;
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
  const count = loops.forgetTimes();
  for (let i = 0; i < count; i++) {
    const [column, row, pass] = heads.view.subarray(i * 4, i * 4 + 3);
    sink(column, row, pass, blocks.view.subarray(i * NUMBERS, (i + 1) * NUMBERS));
  }
}

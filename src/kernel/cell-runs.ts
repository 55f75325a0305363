import { allocate, loops, STRIP } from './loops.js';
import { stripAddresses, type WorldPoints } from './placed-points.js';

/** Words (i32) of a run: column, row, pass, number of points. */
export const RUN_WORDS = 4;

const runs = allocate(Int32Array, STRIP * RUN_WORDS);

/**
 * Counts runs: consecutive points in the same square cell of edge `side` (world units) and of the same pass. A scanner
 * measures several points in a row in one cell, so later work can be done once a run instead of once a point.
 * @param visit receives `count` runs of RUN_WORDS each; the array is reused, so read it before returning
 */
export function countRuns(
  points: Omit<WorldPoints, 'up'>,
  side: number,
  visit: (runs: Int32Array, count: number) => void,
): void {
  for (let from = 0; from < points.count; from += STRIP) {
    const { east, north, pass, valid, count } = stripAddresses(points, from);
    visit(runs.view, loops.countRuns(east, north, pass, valid, count, side, runs.address));
  }
}

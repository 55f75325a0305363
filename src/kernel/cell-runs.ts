import { allocate, loops, STRIP } from './loops.js';
import { stripAddresses, type WorldPoints } from './placed-points.js';

/** Words of a run of counted points: column, row, pass, points. */
export const RUN_WORDS = 4;

const runs = allocate(Int32Array, STRIP * RUN_WORDS);

/**
 * Runs of points that follow one another in the same square cell of edge `side` and in the same pass, counted: a scanner
 * stays in a cell for some points on end, so that most of what is done a point can be done a run.
 * @param visit gets RUN_WORDS a run, reused: they are to be read before it returns
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

import { loops, reach, STRIP, takePlace } from './loops.js';
import { type PlacedPoints, reachStrip } from './placed-points.js';

/** Words of a run of counted points. */
export const COUNT_RUN = { words: 4 } as const;
/** Words and numbers of a run of times, and where in it earliest and latest stand. */
export const TIME_RUN = { words: 8, numbers: 4, low: 2, high: 3 } as const;

const time = takePlace(Float64Array, STRIP);
const numbers = takePlace(Float64Array, STRIP * TIME_RUN.numbers);

/**
 * Runs of points that follow one another in the same cell and pass: a scanner stays in a cell for many points on end, so
 * that most of what is done a point can be done a run. Reused: read them before the next call.
 */
export interface Runs {
  /** Run i from `i * words`: column, row, pass. */
  readonly words: Int32Array;
  readonly numbers: Float64Array;
}

const runs: Runs = {
  words: new Int32Array(numbers.view.buffer, numbers.at, numbers.view.length * 2),
  numbers: numbers.view,
};

/** Runs in square cells of edge `side`, counted: words column, row, pass, points. */
export function countRuns(
  points: Omit<PlacedPoints, 'up'>,
  side: number,
  visit: (runs: Runs, count: number) => void,
): void {
  for (let from = 0; from < points.count; from += STRIP) {
    const { east, north, pass, live, count } = reachStrip(points, from);
    visit(runs, loops.countRuns(east, north, pass, live, count, side, numbers.at));
  }
}

/**
 * Runs in square cells of edge `side`, each with the earliest and latest of its times: words column, row, pass. Points
 * whose time is not a finite number are left out.
 */
export function timeRuns(
  points: Omit<PlacedPoints, 'up'>,
  times: Float64Array,
  side: number,
  visit: (runs: Runs, count: number) => void,
): void {
  for (let from = 0; from < points.count; from += STRIP) {
    const { east, north, pass, live, count } = reachStrip(points, from);
    const stamps = reach(times, from, count, time);
    visit(runs, loops.timeRuns(east, north, pass, live, stamps, count, side, numbers.at));
  }
}

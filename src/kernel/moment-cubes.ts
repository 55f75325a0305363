import { loops, STRIP, takePlace } from './loops.js';
import { type PlacedPoints, reachStrip, reachUp } from './placed-points.js';

/** Points whose cubes are put together in one go. */
const MOST_POINTS = 16_384;
/** Words and numbers of a cube, and where in it the ten sums begin. */
export const CUBE = { words: 24, numbers: 12, sums: 2 } as const;

const ENTRIES = 2 * MOST_POINTS;
const table = takePlace(Int32Array, ENTRIES);
const places = takePlace(Int32Array, MOST_POINTS);
const cubes = takePlace(Float64Array, MOST_POINTS * CUBE.numbers);

/** Cubes in the order in which they were met. Reused: read them before the next call. */
export interface Cubes {
  /** Cube i from `i * CUBE.words`: column, row, level, pass. */
  readonly words: Int32Array;
  /** Cube i from `i * CUBE.numbers + CUBE.sums`: n, then sums of x y z xx xy xz yy yz zz from the lower corner. */
  readonly numbers: Float64Array;
}

const found: Cubes = {
  words: new Int32Array(cubes.view.buffer, cubes.at, cubes.view.length * 2),
  numbers: cubes.view,
};

/**
 * Sums points by cube of edge `side` and pass; coordinates are divided by `quantum` and rounded first. `visit` is called
 * for some points at a time, with how many cubes they are in.
 */
export function momentCubes(
  points: PlacedPoints,
  side: number,
  quantum: number,
  visit: (cubes: Cubes, count: number) => void,
): void {
  for (let begin = 0; begin < points.count; begin += MOST_POINTS) {
    const end = Math.min(begin + MOST_POINTS, points.count);
    let have = 0;
    for (let from = begin; from < end; from += STRIP) {
      const n = Math.min(STRIP, end - from);
      const { east, north, pass, live } = reachStrip(points, from, n);
      const up = reachUp(points, from, n);
      have = loops.momentCubes(
        east,
        north,
        up,
        pass,
        live,
        n,
        side,
        quantum,
        have,
        cubes.at,
        table.at,
        ENTRIES - 1,
        places.at,
      );
    }
    loops.forgetCubes(have, table.at, places.at);
    visit(found, have);
  }
}

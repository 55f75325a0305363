import { CUBE_BYTES } from './cubes.js';
import { loops, STRIP, takePlace } from './loops.js';
import { type PlacedPoints, reachStrip, reachUp } from './placed-points.js';

/** Cubes that are put together before they are handed on: what is looked at all the time stays in the processor's cache. */
const FULL = 8192;
const MOST_CUBES = FULL + STRIP;
const ENTRIES = 32_768;
const table = takePlace(Int32Array, ENTRIES);
const places = takePlace(Int32Array, MOST_CUBES);
/** Behind one that stands for none. */
const cubes = takePlace(Uint8Array, (1 + MOST_CUBES) * CUBE_BYTES);

/** Takes cubes in the small form; the same cube may come again. They are to be copied before it returns. */
export type CubeSink = (cubes: Uint8Array) => void;

let owner: CubeSink | null = null;
let have = 0;

/**
 * Sums points by cube of edge `side` and pass; coordinates are divided by `quantum` and rounded first. What came together
 * goes to `sink` when it is much, when another sink comes, or with `handOnCubes`.
 */
export function momentCubes(points: PlacedPoints, side: number, quantum: number, sink: CubeSink): void {
  if (owner !== sink && owner !== null) handOnCubes(owner);
  owner = sink;
  for (let from = 0; from < points.count; from += STRIP) {
    const { east, north, pass, live, count } = reachStrip(points, from);
    const up = reachUp(points, from, count);
    have = loops.momentCubes(
      east,
      north,
      up,
      pass,
      live,
      count,
      side,
      quantum,
      have,
      cubes.at,
      table.at,
      ENTRIES - 1,
      places.at,
    );
    if (have > FULL) handOn(sink);
  }
}

/** Hands on what came together for a sink. */
export function handOnCubes(sink: CubeSink): void {
  if (owner !== sink) return;
  owner = null;
  handOn(sink);
}

/** Forgets what came together for a sink. */
export function dropCubes(sink: CubeSink): void {
  if (owner !== sink) return;
  owner = null;
  handOn(() => {});
}

function handOn(sink: CubeSink): void {
  const count = have;
  loops.forgetCubes(count, table.at, places.at);
  have = 0;
  if (count > 0) sink(cubes.view.subarray(CUBE_BYTES, (1 + count) * CUBE_BYTES));
}

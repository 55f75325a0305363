import { allocate, loops, STRIP } from './loops.js';
import { stripAddresses, upAddress, type WorldPoints } from './placed-points.js';
import { VOXEL_BYTES } from './voxel-record.js';

/** Cubes that are put together before they are handed on: what is looked at all the time stays in the processor's cache. */
const FULL = 8192;
const MOST_CUBES = FULL + STRIP;
const ENTRIES = 32_768;
const table = allocate(Int32Array, ENTRIES);
const places = allocate(Int32Array, MOST_CUBES);
/** Behind one that stands for none. */
const cubes = allocate(Uint8Array, (1 + MOST_CUBES) * VOXEL_BYTES);

/** Takes cubes in the small form; the same cube may come again. They are to be copied before it returns. */
export type OnVoxels = (cubes: Uint8Array) => void;

let owner: OnVoxels | null = null;
let have = 0;

/**
 * Sums points by cube of edge `side` and pass; coordinates are divided by `quantum` and rounded first. What came together
 * goes to `sink` when it is much, when another sink comes, or with `handOnCubes`.
 */
export function momentVoxels(points: WorldPoints, side: number, quantum: number, sink: OnVoxels): void {
  if (owner !== sink && owner !== null) flushVoxels(owner);
  owner = sink;
  for (let from = 0; from < points.count; from += STRIP) {
    const { east, north, pass, valid, count } = stripAddresses(points, from);
    const up = upAddress(points, from, count);
    have = loops.momentCubes(
      east,
      north,
      up,
      pass,
      valid,
      count,
      side,
      quantum,
      have,
      cubes.address,
      table.address,
      ENTRIES - 1,
      places.address,
    );
    if (have > FULL) handOn(sink);
  }
}

/** Hands on what came together for a sink. */
export function flushVoxels(sink: OnVoxels): void {
  if (owner !== sink) return;
  owner = null;
  handOn(sink);
}

/** Forgets what came together for a sink. */
export function dropVoxels(sink: OnVoxels): void {
  if (owner !== sink) return;
  owner = null;
  handOn(() => {});
}

function handOn(sink: OnVoxels): void {
  const count = have;
  loops.forgetCubes(count, table.address, places.address);
  have = 0;
  if (count > 0) sink(cubes.view.subarray(VOXEL_BYTES, (1 + count) * VOXEL_BYTES));
}

import { allocate, loops, STRIP } from './loops.js';
import { stripAddresses, upAddress, type WorldPoints } from './placed-points.js';
import { VOXEL_BYTES } from './voxel-record.js';

/** Voxels collected before they are passed on: few enough to stay in the processor's cache. */
const FLUSH_AT = 8192;
const CAPACITY = FLUSH_AT + STRIP;
const ENTRIES = 32_768;
const table = allocate(Int32Array, ENTRIES);
const tableIndexes = allocate(Int32Array, CAPACITY);
/** The first voxel is a dummy: table entry 0 means empty. */
const voxels = allocate(Uint8Array, (1 + CAPACITY) * VOXEL_BYTES);

/** Receives voxels in the small form; the same key may come again. Copy them before returning. */
export type OnVoxels = (voxels: Uint8Array) => void;

let current: OnVoxels | null = null;
let voxelCount = 0;

/**
 * Sums points by voxel of edge `side` (quanta) and pass; coordinates are divided by `quantum` and rounded first. Voxels are
 * collected and passed to `onVoxels` when there are more than FLUSH_AT, when another callback is used, or by `flushVoxels`.
 */
export function momentVoxels(points: WorldPoints, side: number, quantum: number, onVoxels: OnVoxels): void {
  if (current !== onVoxels && current !== null) flushVoxels(current);
  current = onVoxels;
  for (let from = 0; from < points.count; from += STRIP) {
    const { east, north, pass, valid, count } = stripAddresses(points, from);
    const up = upAddress(points, from, count);
    voxelCount = loops.momentVoxels(
      east,
      north,
      up,
      pass,
      valid,
      count,
      side,
      quantum,
      voxelCount,
      voxels.address,
      table.address,
      ENTRIES - 1,
      tableIndexes.address,
    );
    if (voxelCount > FLUSH_AT) flush(onVoxels);
  }
}

/** Passes the voxels collected for a callback to it. */
export function flushVoxels(onVoxels: OnVoxels): void {
  if (current !== onVoxels) return;
  current = null;
  flush(onVoxels);
}

/** Discards the voxels collected for a callback. */
export function dropVoxels(onVoxels: OnVoxels): void {
  if (current !== onVoxels) return;
  current = null;
  flush(() => {});
}

function flush(onVoxels: OnVoxels): void {
  const count = voxelCount;
  loops.clearVoxels(count, table.address, tableIndexes.address);
  voxelCount = 0;
  if (count > 0) onVoxels(voxels.view.subarray(VOXEL_BYTES, (1 + count) * VOXEL_BYTES));
}

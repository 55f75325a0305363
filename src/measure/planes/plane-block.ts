import { VoxelBlock } from '../../kernel/voxel-block.js';
import type { PointGuard } from './merge-voxels.js';
import { openBuffer } from './voxel-list-blocks.js';

/** One block of plane moments with a margin of its neighbours, as derivations read it. Valid until the next block is opened. */
export interface PlaneBlock {
  column: number;
  row: number;
  /** Edge of a sub-voxel, in quanta of the moments; `quantum`: size of these in 0.1 mm. */
  side: number;
  quantum: number;
  /** Passes that hold points, ascending. */
  passes: number[];
  voxels: VoxelBlock;
}

let voxels: VoxelBlock | null = null;

/**
 * The voxels of a block with all its pieces added together. There is one such block in a thread: it can be read until the next
 * one is opened.
 * @param pieces packed voxels of the block and its margin
 * @throws Fault `cell-too-dense`, `memory-short`
 */
export function openPlaneBlock(
  { column, row }: { column: number; row: number },
  pieces: readonly ArrayBuffer[],
  { side, quantum, guard }: { side: number; quantum: number; guard: PointGuard },
): PlaneBlock {
  voxels ??= new VoxelBlock();
  const parts = pieces.map((piece) => openBuffer(piece, side));
  const { passes, most } = voxels.open(column, row, side, parts);
  if (most > guard.mostPoints) throw guard.tooMany();
  return { column, row, side, quantum, passes, voxels };
}

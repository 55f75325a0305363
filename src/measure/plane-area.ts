import { VoxelArea } from '../kernel/voxel-area.js';
import { openBlock } from './cube-blocks.js';
import type { PointGuard } from './cube-merge.js';

/** One area of plane moments, with the rim of the next ones: what derivations look at. Holds until the next is opened. */
export interface PlaneArea {
  column: number;
  row: number;
  /** Edge of a sub-voxel, in quanta of the moments; `quantum`: size of these in 0.1 mm. */
  side: number;
  quantum: number;
  /** Passes that hold points, ascending. */
  passes: number[];
  voxels: VoxelArea;
}

let voxels: VoxelArea | null = null;

/** @throws Fault `cell-too-dense`, `memory-short` */
export function openPlaneArea(
  { column, row }: { column: number; row: number },
  pieces: readonly ArrayBuffer[],
  { side, quantum, guard }: { side: number; quantum: number; guard: PointGuard },
): PlaneArea {
  voxels ??= new VoxelArea();
  const cubes = pieces.map((piece) => openBlock(piece, side));
  const { passes, most } = voxels.open(column, row, side, cubes);
  if (most > guard.mostPoints) throw guard.tooMany();
  return { column, row, side, quantum, passes, voxels };
}

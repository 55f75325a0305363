import { VoxelArea } from '../kernel/voxel-area.js';
import { type CubeList, type PointGuard, passesOf } from './cube-list.js';

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
  { cubes, side, quantum, guard }: { cubes: CubeList; side: number; quantum: number; guard: PointGuard },
  { column, row }: { column: number; row: number },
): PlaneArea {
  voxels ??= new VoxelArea();
  const most = voxels.open(column, row, side, cubes.bytes.subarray(0, cubes.used));
  if (most > guard.mostPoints) throw guard.tooMany();
  return { column, row, side, quantum, passes: passesOf(cubes), voxels };
}

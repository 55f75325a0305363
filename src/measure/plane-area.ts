import { CUBE_BYTES, VoxelArea } from '../kernel/voxel-area.js';
import { type PointGuard, packedCubes } from './cube-list.js';

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
  const cubes = pieces.map((piece) => packedCubes(piece, side));
  if (voxels.open(column, row, side, cubes) > guard.mostPoints) throw guard.tooMany();
  return { column, row, side, quantum, passes: passesOf(cubes), voxels };
}

function passesOf(parts: readonly Uint8Array[]): number[] {
  const passes = new Set<number>();
  const each = CUBE_BYTES / 4;
  for (const { buffer, byteOffset, byteLength } of parts) {
    const words = new Int32Array(buffer, byteOffset, byteLength / 4);
    for (let w = 3; w < words.length; w += each) if (w === 3 || words[w] !== words[w - each]) passes.add(words[w]);
  }
  return [...passes].sort((a, b) => a - b);
}

import type { Piece } from './cloud.js';
import type { PointBatch } from './columns.js';
import type { CopcInfo } from './copc.js';
import type { Header } from './header.js';

/** Raw coordinates that a node of the octree may hold: min x, y, z, max x, y, z. */
export type NodeCube = Float64Array;

/**
 * The cube of a node, a step of the coordinates larger on all sides, since cubes end between steps. Side of a node: twice
 * the half size, halved at each level (COPC 1.0, "info VLR"). Null for a piece that is no node, or when the header's scale
 * leaves coordinates without meaning.
 */
export function cubeOf({ center, halfSize }: CopcInfo, { scale, offset }: Header, piece: Piece): NodeCube | null {
  const { level, place } = piece;
  if (level === undefined || place === undefined || !(halfSize > 0)) return null;
  const side = (2 * halfSize) / 2 ** level;
  const cube = new Float64Array(6);
  for (let i = 0; i < 3; i++) {
    const low = center[i] - halfSize + place[i] * side;
    const ends = [(low - offset[i]) / scale[i], (low + side - offset[i]) / scale[i]];
    cube[i] = Math.min(...ends) - 1;
    cube[i + 3] = Math.max(...ends) + 1;
  }
  return cube.every(Number.isFinite) ? cube : null;
}

/** A node seen from above, in the unit of the file: its low corner, its side, and its points. */
export interface NodeSquare {
  x: number;
  y: number;
  side: number;
  points: number;
}

/** The square of a node on the ground; of the root cube where the piece is no node. */
export function nodeSquare({ center, halfSize }: CopcInfo, { level = 0, place, points }: Piece): NodeSquare {
  const side = (2 * halfSize) / 2 ** level;
  const [x, y] = [0, 1].map((i) => center[i] - halfSize + (place?.[i] ?? 0) * side);
  return { x, y, side, points };
}

/** How many points of the batch lie outside the cube. */
export function countOutsideNode(cube: NodeCube, { x, y, z, count, has }: PointBatch): number {
  if (!has.has('xyz')) return 0;
  const [x0, y0, z0, x1, y1, z1] = cube;
  let outside = 0;
  for (let i = 0; i < count; i++) {
    const inside = x[i] >= x0 && x[i] <= x1 && y[i] >= y0 && y[i] <= y1 && z[i] >= z0 && z[i] <= z1;
    if (!inside) outside++;
  }
  return outside;
}

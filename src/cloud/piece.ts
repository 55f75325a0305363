/** A range of bytes of a span: records, a chunk or a node. */
export interface Piece {
  /** Absolute byte position in the file. */
  begin: number;
  end: number;
  points: number;
  /** Ordinal in the file of a compressed chunk, from 0. */
  index?: number;
  /** Level of the octree, 0 coarsest; COPC only. */
  level?: number;
  /** Position of the node in its level (VoxelKey x, y, z); COPC only. */
  place?: readonly [x: number, y: number, z: number];
}

import type { SharedPlanes } from '../../kernel/voxel-block.js';
import { QUANTA_PER_METRE } from '../contract/measurement.js';
import type { PlaneBlock } from './plane-block.js';

/** Two planes are the same surface if their normals agree within 5 degrees. */
const COS_SAME = Math.cos((5 * Math.PI) / 180);
/** Root mean square thickness of a plane, share of the voxel edge, above which the points do not form a plane. */
const THICK = 0.04;
/** Least spread of the points along the plane's second axis, share of the voxel edge. */
const SPREAD = 0.12;

/**
 * Planes of two passes in the same voxels: plain data, 38 bytes for each plane, because a street has hundreds of them in every metre.
 * Lengths in quanta of the state. Single precision holds directions to a hundred-thousandth of a degree, and a distance of
 * 0.25 m to a hundredth of a micrometre.
 */
export type PairPlanes = SharedPlanes;

/** A surface counts as level, fit to compare heights on, up to this slope (10 degrees, as the USGS base specification samples). */
export const COS_LEVEL = Math.cos((10 * Math.PI) / 180);

/**
 * Every voxel of a block, over both lattices, in which two passes have the same plane. The order is fixed.
 * @param step coarsest step of the stored coordinates, metres: rounding has the variance step^2 / 12
 */
export function collectPairPlanes(
  { voxels, side, quantum }: PlaneBlock,
  minPoints: number,
  step: number,
): PairPlanes[] {
  const edge = 2 * side;
  return voxels.pairs({
    points: Math.max(3, minPoints),
    rms: THICK * edge,
    spread: (SPREAD * edge) ** 2,
    cosine: COS_SAME,
    noise: ((step * QUANTA_PER_METRE) / quantum) ** 2 / 12,
  });
}

/** The planes of one pair over all blocks, in one list; null where the two passes have none in common. */
export function joinPairPlanes(parts: readonly PairPlanes[]): PairPlanes | null {
  if (parts.length === 0) return null;
  const total = (pick: (part: PairPlanes) => number) => parts.reduce((sum, part) => sum + pick(part), 0);
  const room = total((part) => part.count);
  const joined: PairPlanes = {
    a: parts[0].a,
    b: parts[0].b,
    shared: total((part) => part.shared),
    dense: total((part) => part.dense),
    sparse: total((part) => part.sparse),
    sparsePoints: total((part) => part.sparsePoints),
    rough: total((part) => part.rough),
    count: 0,
    corner: new Int32Array(room * 3),
    offset: new Uint16Array(room * 3),
    normal: new Float32Array(room * 3),
    distance: new Float32Array(room),
    variance: new Float32Array(room),
  };
  for (const part of parts) {
    joined.corner.set(part.corner, joined.count * 3);
    joined.offset.set(part.offset, joined.count * 3);
    joined.normal.set(part.normal, joined.count * 3);
    joined.distance.set(part.distance, joined.count);
    joined.variance.set(part.variance, joined.count);
    joined.count += part.count;
  }
  return joined;
}

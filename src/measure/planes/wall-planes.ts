import type { PairPlanes } from './pair-planes.js';

/** A plane is upright up to this height of its unit normal, as in the kernel. */
const UPRIGHT = 0.42;

/** Upright planes of two passes, one entry a plane; metres. */
export interface WallPlanes {
  /** World position. */
  x: Float64Array;
  y: Float64Array;
  z: Float64Array;
  /** Horizontal unit normal: three entries a plane, the third is 0. */
  normal: Float64Array;
  /** Horizontal distance of pass b from pass a along it, and its variance. */
  distance: Float64Array;
  variance: Float64Array;
}

/** How many of the planes are upright. */
export function countUpright({ normal, count }: PairPlanes): number {
  let upright = 0;
  for (let i = 0; i < count; i++) if (Math.abs(normal[i * 3 + 2]) <= UPRIGHT) upright++;
  return upright;
}

/**
 * The upright planes with their horizontal distances; what the difference in height adds to the distance of an inclined one is taken off.
 * @param gross gross shift that was subtracted before, metres; `dz`: difference in height without it, metres
 */
export function wallPlanes(
  planes: PairPlanes,
  { side, scale, gross, dz }: { side: number; scale: number; gross: readonly number[]; dz: number },
): WallPlanes {
  const count = countUpright(planes);
  const found: WallPlanes = {
    x: new Float64Array(count),
    y: new Float64Array(count),
    z: new Float64Array(count),
    normal: new Float64Array(count * 3),
    distance: new Float64Array(count),
    variance: new Float64Array(count),
  };
  let at = 0;
  for (let i = 0; i < planes.count; i++) {
    const [nx, ny, nz] = planes.normal.subarray(i * 3, i * 3 + 3);
    if (Math.abs(nz) > UPRIGHT) continue;
    const level = Math.hypot(nx, ny);
    found.x[at] = (planes.corner[i * 3] * side + planes.offset[i * 3]) * scale;
    found.y[at] = (planes.corner[i * 3 + 1] * side + planes.offset[i * 3 + 1]) * scale;
    found.z[at] = (planes.corner[i * 3 + 2] * side + planes.offset[i * 3 + 2]) * scale;
    found.normal.set([nx / level, ny / level, 0], at * 3);
    const distance = planes.distance[i] * scale - nz * dz + nx * gross[0] + ny * gross[1];
    found.distance[at] = distance / level;
    found.variance[at] = planes.variance[i] * (scale / level) ** 2;
    at++;
  }
  return found;
}

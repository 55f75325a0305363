import type { PairPlanes } from './pair-planes.js';

/** Positions of planes along the road. */
export interface AlongRoad {
  /** Position of each plane along the main axis of all planes, metres from their mean. */
  along: Float64Array;
  /** Horizontal unit vector of that axis; null where the planes extend as far to all sides. */
  axis: [number, number] | null;
}

/** The standard deviation of the positions along a road is at least this many times that across it. */
const ELONGATED = 1.5;

/**
 * Positions of planes along the main horizontal axis of all of them, which is the direction of the road where a pair shares a
 * straight piece of it. On a curved road or in a network of roads the axis still parts the planes into strips that are far apart.
 * @param side sub-voxel edge in units of the planes, `scale`: metres in one unit
 */
export function alongRoad({ corner, offset, count }: PairPlanes, side: number, scale: number): AlongRoad {
  const x = new Float64Array(count);
  const y = new Float64Array(count);
  let [meanX, meanY] = [0, 0];
  for (let i = 0; i < count; i++) {
    x[i] = (corner[i * 3] * side + offset[i * 3]) * scale;
    y[i] = (corner[i * 3 + 1] * side + offset[i * 3 + 1]) * scale;
    meanX += x[i] / count;
    meanY += y[i] / count;
  }
  let [xx, xy, yy] = [0, 0, 0];
  for (let i = 0; i < count; i++) {
    xx += (x[i] - meanX) ** 2;
    xy += (x[i] - meanX) * (y[i] - meanY);
    yy += (y[i] - meanY) ** 2;
  }
  const angle = Math.atan2(2 * xy, xx - yy) / 2;
  const [cos, sin] = [Math.cos(angle), Math.sin(angle)];
  const spread = Math.hypot(xx - yy, 2 * xy);
  const along = x.map((value, i) => (value - meanX) * cos + (y[i] - meanY) * sin);
  const elongated = xx + yy + spread > ELONGATED ** 2 * (xx + yy - spread);
  return { along, axis: elongated && count > 1 ? [cos, sin] : null };
}

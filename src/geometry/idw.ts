import { exactSum } from './compensated-arithmetic.js';
import { checkPoints } from './local-points.js';

/** Options of inverse distance weighting. */
export interface IdwOptions {
  /** Weights are 1 / distance^power. Default 2. */
  power?: number;
  /** Fewest points. Default 1. */
  minPoints?: number;
}

/** A height by inverse distance weighting. */
export interface IdwHeight {
  height: number;
  /** Number of points used: all, or only those at the survey point when there are any. */
  used: number;
}

/** Horizontal distance under which a point is at the survey point itself: a thousandth of a millimetre. */
const SAME_PLACE_METRES = 1e-6;

/**
 * Height at (0, 0) as the mean of the points' heights weighted by inverse distance (Shepard 1968). When points are at the
 * survey point itself, only they are used. Not robust: pass ground points only. The result is bit-identical for any order.
 *
 * @returns `null` for fewer than minPoints
 * @throws RangeError for coordinates that are not finite, an n beyond the arrays, or a power that is not positive
 */
export function idwHeight(
  dx: Float64Array,
  dy: Float64Array,
  dz: Float64Array,
  n: number,
  options: IdwOptions = {},
): IdwHeight | null {
  const { power = 2, minPoints = 1 } = options;
  if (!(power > 0 && Number.isFinite(power))) throw new RangeError(`the power is positive, not ${power}`);
  checkPoints(dx, dy, dz, n);
  if (n < Math.max(1, minPoints)) return null;
  let nearest = Number.POSITIVE_INFINITY;
  for (let i = 0; i < n; i++) nearest = Math.min(nearest, distance(dx[i], dy[i]));
  const weights = new Float64Array(n);
  let used = 0;
  for (let i = 0; i < n; i++) {
    const far = distance(dx[i], dy[i]);
    // Relative to the nearest point the weights lie between 0 and 1 whatever the power.
    if (nearest <= SAME_PLACE_METRES) weights[i] = far <= SAME_PLACE_METRES ? 1 : 0;
    else weights[i] = (nearest / far) ** power;
    if (weights[i] > 0) used++;
  }
  const total = exactSum(n, (i) => weights[i]);
  return { height: exactSum(n, (i) => weights[i] * dz[i]) / total, used };
}

function distance(x: number, y: number): number {
  return Math.sqrt(x * x + y * y);
}

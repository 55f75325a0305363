import { fitLine } from '../../geometry/line-fit.js';
import { median, percentile } from '../../geometry/statistics.js';
import type { PassPair } from '../pass-pairs.js';
import { type PassTimes, type Sighting, sightingsOf } from '../pass-times.js';

/** A value with its standard deviation. */
interface Estimate {
  value: number;
  std: number;
}

/** The shift between two passes in the driving direction of the first. Metres; differences are b minus a. */
export interface PairInDriving {
  direction: 'same' | 'opposite';
  /** Shift along the drive of a, and to its left; null where no surface shows it. */
  along: Estimate | null;
  left: Estimate | null;
  /** Rise of the height difference to the left, metres a metre, and the half width of the common strip. */
  tilt: Estimate | null;
  halfWidth: number;
}

/** Slices of equal numbers of cells into which a pass is cut along time. */
const SLICES = 8;
const LEAST_CELLS = 40;
/** A cell with points over a longer time was passed twice, or measured from a stopped vehicle. Seconds. */
const LONGEST_SIGHT = 5;
/** Straight: the way from slice to slice is hardly longer than that from the first to the last. */
const STRAIGHT = 0.95;
/** Two drives go the same way, or opposite ways, within some 18 degrees. */
const PARALLEL = 0.95;
/** A direction is observable when this share of it lies in the observable directions. */
const SEEN = 0.9;

/**
 * The direction in which a pass drove past these places, a unit vector from the order of GPS times; null where it cannot be determined, or the
 * road winds. The vehicle itself is not in the cloud: the points of about one time are beside it, so the middles of
 * such groups of points move as it did.
 */
export function headingOf(
  times: PassTimes,
  pass: number,
  { x, y }: { x: Float64Array; y: Float64Array },
): [number, number] | null {
  const sighting: Sighting = { middle: 0, duration: 0 };
  const see = sightingsOf(times, pass);
  const seen: { t: number; x: number; y: number }[] = [];
  for (let i = 0; i < x.length; i++) {
    see(x[i], y[i], sighting);
    if (sighting.duration <= LONGEST_SIGHT) seen.push({ t: sighting.middle, x: x[i], y: y[i] });
  }
  if (seen.length < LEAST_CELLS) return null;
  seen.sort((p, q) => p.t - q.t || p.x - q.x || p.y - q.y);
  const middles = Array.from({ length: SLICES }, (_, k) => {
    const slice = seen.slice(Math.floor((k * seen.length) / SLICES), Math.floor(((k + 1) * seen.length) / SLICES));
    // From the first place on: coordinates are large.
    const mean = (of: (p: (typeof seen)[number]) => number) => slice.reduce((sum, p) => sum + of(p), 0) / slice.length;
    return [mean((p) => p.x - seen[0].x), mean((p) => p.y - seen[0].y)];
  });
  let way = 0;
  for (let k = 1; k < SLICES; k++)
    way += Math.hypot(middles[k][0] - middles[k - 1][0], middles[k][1] - middles[k - 1][1]);
  const [dx, dy] = [middles[SLICES - 1][0] - middles[0][0], middles[SLICES - 1][1] - middles[0][1]];
  const straight = Math.hypot(dx, dy);
  return straight > 0 && straight >= STRAIGHT * way ? [dx / straight, dy / straight] : null;
}

/** A pair in the frame of its first pass; null without times, on winding roads, and for passes that cross. */
export function drivenPair(pair: PassPair, times: PassTimes): PairInDriving | null {
  const a = headingOf(times, pair.a, pair.map);
  const b = a ? headingOf(times, pair.b, pair.map) : null;
  if (!a || !b) return null;
  const cosine = a[0] * b[0] + a[1] * b[1];
  if (Math.abs(cosine) < PARALLEL) return null;
  const left: [number, number] = [-a[1], a[0]];
  return {
    direction: cosine > 0 ? 'same' : 'opposite',
    along: component(pair, a),
    left: component(pair, left),
    ...tiltOf(pair, left),
  };
}

/** The shift in a horizontal direction, combined from the observable directions; an estimate in metres, null where it is not observable. */
function component({ directions }: PassPair, [ux, uy]: readonly [number, number]): Estimate | null {
  let seen = 0;
  let value = 0;
  let variance = 0;
  for (const { direction, distance, std } of directions) {
    const cosine = direction[0] * ux + direction[1] * uy;
    seen += cosine * cosine;
    value += cosine * distance;
    variance += (cosine * std) ** 2;
  }
  return seen >= SEEN ? { value, std: Math.sqrt(variance) } : null;
}

function tiltOf({ map }: PassPair, [lx, ly]: readonly [number, number]): Pick<PairInDriving, 'tilt' | 'halfWidth'> {
  if (map.dz.length < LEAST_CELLS) return { tilt: null, halfWidth: 0 };
  const across = Float64Array.from(map.x, (x, i) => (x - map.x[0]) * lx + (map.y[i] - map.y[0]) * ly);
  const middle = median(across);
  const halfWidth = percentile(
    across.map((c) => Math.abs(c - middle)),
    95,
  );
  const weight = new Float64Array(across.length).fill(1);
  const line = fitLine(across, map.dz, weight, 0, across.length);
  // Both lattices contain each surface: only half of the cells are independent of one another.
  return { tilt: line ? { value: line.slope, std: line.slopeStd * Math.SQRT2 } : null, halfWidth };
}

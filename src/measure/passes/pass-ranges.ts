import { fitLine } from '../../geometry/line-fit.js';
import { median, nmad, percentile, standardDeviation } from '../../geometry/statistics.js';
import type { PassPair } from '../pass-pairs.js';
import type { PassTimes } from '../pass-times.js';
import type { PassTrack } from '../pass-tracks.js';
import { headingOf } from './pass-headings.js';

/** Rise of heights with the distance from the vehicle's track, horizontally: metres a metre, standard deviation, farthest distance in metres. */
export interface RangeSlope {
  value: number;
  std: number;
  farthest: number;
}

/** Cells that a track needs, and how far it may scatter to the sides: where angles were not stored it is as wide as the road. */
const LEAST_CELLS = 10;
const WIDEST_TRACK = 0.75;
/** Spread of the difference of both distances, without what changes evenly across the road; with less, no slope is determined. Metres. */
const LEAST_SPREAD = 0.2;
const LEAST_HEIGHTS = 40;

/**
 * How heights grow with the distance from the track, from the differences of two passes on a straight road: with an error of k times the
 * distance, b minus a is k (distance from b's track - distance from a's). A tilt across the road is fitted beside it.
 * Null where times, angles or two tracks apart are missing.
 */
export function rangeSlope(
  pair: PassPair,
  times: PassTimes,
  tracks: ReadonlyMap<number, PassTrack>,
): RangeSlope | null {
  const { map } = pair;
  const heading = map.dz.length < LEAST_HEIGHTS ? null : headingOf(times, pair.a, map);
  if (!heading) return null;
  const [ux, uy] = heading;
  const along = (x: number, y: number) => (x - map.x[0]) * ux + (y - map.y[0]) * uy;
  const across = (x: number, y: number) => (y - map.y[0]) * ux - (x - map.x[0]) * uy;
  let from = Number.POSITIVE_INFINITY;
  let to = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < map.x.length; i++) {
    const u = along(map.x[i], map.y[i]);
    from = Math.min(from, u);
    to = Math.max(to, u);
  }
  const trackOf = (pass: number): number | null => {
    const track = tracks.get(pass);
    const beside: number[] = [];
    track?.x.forEach((x, i) => {
      const u = along(x, track.y[i]);
      if (u >= from && u <= to) beside.push(across(x, track.y[i]));
    });
    return beside.length >= LEAST_CELLS && nmad(beside) <= WIDEST_TRACK ? median(beside) : null;
  };
  const [a, b] = [trackOf(pair.a), trackOf(pair.b)];
  if (a === null || b === null) return null;
  const c = Float64Array.from(map.x, (x, i) => across(x, map.y[i]));
  const difference = withoutTilt(
    c,
    c.map((v) => Math.abs(v - b) - Math.abs(v - a)),
  );
  const dz = withoutTilt(c, map.dz);
  if (!difference || !dz || standardDeviation(difference) < LEAST_SPREAD) return null;
  const line = fitLine(difference, dz, new Float64Array(dz.length).fill(1), 0, dz.length);
  const farthest = percentile(
    c.map((v) => Math.max(Math.abs(v - a), Math.abs(v - b))),
    95,
  );
  // Both lattices contain each surface: only half of the cells are independent of one another.
  return line ? { value: line.slope, std: line.slopeStd * Math.SQRT2, farthest } : null;
}

/** Values less the line that fits them across the road. */
function withoutTilt(across: Float64Array, values: Float64Array): Float64Array | null {
  const line = fitLine(across, values, new Float64Array(values.length).fill(1), 0, values.length);
  return line ? values.map((v, i) => v - line.level - line.slope * (across[i] - line.middle)) : null;
}

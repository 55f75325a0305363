import { QUANTA_PER_METRE } from '../contract/measurement.js';
import { compact, type LocationSample, type LocationSamples, type Place } from './location-samples.js';

/** One place in one pass, in metres from the place. */
export interface LocationNeighbourhood {
  point: number;
  pass: number;
  total: number;
  /** Metres from the surveyed place, sorted by hash and coordinates: the same order whatever order they were read in. */
  dx: Float64Array;
  dy: Float64Array;
  dz: Float64Array;
  /** Largest hash kept when points were dropped, else null: passes are thinned alike by keeping hashes below the smallest. */
  ceiling: number | null;
  hash: Uint32Array;
}

/** The samples around places, in metres. They are converted when they are asked for: all at once would take much memory. */
export interface LocationNeighbourhoods<N extends LocationNeighbourhood = LocationNeighbourhood> {
  /** For each place the first one with exactly its coordinates, itself where there is none before. */
  readonly same: Int32Array;
  /** The cloud around one place, by pass. */
  of(point: number): N[];
  /** All of them, by place, then by pass. */
  all(): N[];
}

/** The samples in metres; `more` may add to each what else was kept. */
export function readLocations<More extends object>(
  state: LocationSamples,
  points: readonly Place[],
  more: (sample: LocationSample, width: number) => More,
): LocationNeighbourhoods<LocationNeighbourhood & More> {
  /** By place: its rows in the samples, by pass. */
  const rows = new Map<number, number[]>();
  for (const row of state.keys.sorted()) {
    const place = state.keys.part(row, 0);
    const known = rows.get(place);
    if (known) known.push(row);
    else rows.set(place, [row]);
  }
  const read = (row: number, point: number) => {
    const s = state.samples[row];
    compact(s, state);
    const { x, y, z } = points[point];
    // The survey's own digits beyond 0.1 mm, so that rounding of its coordinates adds nothing to a residual.
    const rest = [x, y, z].map((v) => Math.round(v * QUANTA_PER_METRE) / QUANTA_PER_METRE - v);
    const step = state.width + 1;
    const metres = (axis: number) => {
      const values = new Float64Array(s.kept);
      for (let k = 0; k < s.kept; k++) values[k] = s.rows[k * step + 1 + axis] / QUANTA_PER_METRE + rest[axis];
      return values;
    };
    const hash = new Uint32Array(s.kept);
    for (let k = 0; k < s.kept; k++) hash[k] = s.rows[k * step];
    return {
      point,
      pass: state.keys.part(row, 1),
      total: s.total,
      dx: metres(0),
      dy: metres(1),
      dz: metres(2),
      ceiling: s.total > s.kept ? hash[s.kept - 1] : null,
      hash,
      ...more(s, step),
    };
  };
  const of = (point: number) => (rows.get(state.locations.first[point]) ?? []).map((row) => read(row, point));
  return { same: firstOfEqual(points), of, all: () => points.flatMap((_, point) => of(point)) };
}

function firstOfEqual(points: readonly Place[]): Int32Array {
  const known = new Map<string, number>();
  return Int32Array.from(points, ({ x, y, z }, i) => {
    const key = `${x} ${y} ${z}`;
    const first = known.get(key) ?? i;
    if (first === i) known.set(key, i);
    return first;
  });
}

/** Computes a result for each place; places with the same coordinates have the same one. */
export function eachPlace<N extends LocationNeighbourhood, R>(
  { same, of }: LocationNeighbourhoods<N>,
  compute: (passes: N[], point: number) => R,
): R[] {
  const results: R[] = [];
  for (let p = 0; p < same.length; p++) results.push(same[p] < p ? results[same[p]] : compute(of(p), p));
  return results;
}

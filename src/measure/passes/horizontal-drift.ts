import { solveShift } from '../../geometry/least-squares.js';
import type { PassPair } from '../pass-pairs.js';
import { type PassTimes, type Sighting, sightingsOf } from '../pass-times.js';
import type { WallPlanes } from '../planes/wall-planes.js';

/** The horizontal offset of a pass from another in one bin of GPS time, as far as walls show it. Metres. */
interface HorizontalBin {
  /** Begin of the bin, seconds. */
  time: number;
  /** Mean position of the walls. */
  x: number;
  y: number;
  offset: number;
  std: number;
  /** True where walls show both horizontal directions. */
  whole: boolean;
}

/** One pass against the others horizontally, along its GPS time; bins in order of time. */
export interface HorizontalDrift {
  pass: number;
  bins: HorizontalBin[];
}

/** Options of `horizontalDriftOfPasses`: seconds a bin, and upright planes that a bin must share with another pass. */
export interface HorizontalDriftOptions {
  bin: number;
  minCells: number;
}

/** Residuals beyond 4 NMAD are left out; never tighter than 2 mm. */
const OUTLIER = { rejectFactor: 4, rejectFloor: 0.002 };

/**
 * The horizontal offset of every pass from the others along GPS time, by least squares over the walls of each bin. In a bin in which a
 * pass is compared with several others, the smallest offset counts: a pass that is off is off against all of them.
 */
export function horizontalDriftOfPasses(
  pairs: readonly PassPair[],
  times: PassTimes,
  options: HorizontalDriftOptions,
): HorizontalDrift[] {
  const passes = new Map<number, Map<number, HorizontalBin>>();
  for (const { a, b, walls } of pairs) {
    if (!walls) continue;
    for (const pass of [a, b]) {
      const known = passes.get(pass) ?? new Map<number, HorizontalBin>();
      passes.set(pass, known);
      for (const [key, bin] of binsOf(walls, pass, times, options)) {
        const other = known.get(key);
        if (!other || bin.offset < other.offset) known.set(key, bin);
      }
    }
  }
  return [...passes]
    .sort(([p], [q]) => p - q)
    .map(([pass, bins]) => ({ pass, bins: [...bins].sort(([p], [q]) => p - q).map(([, bin]) => bin) }))
    .filter(({ bins }) => bins.length > 0);
}

function binsOf(
  walls: WallPlanes,
  pass: number,
  times: PassTimes,
  { bin: seconds, minCells }: HorizontalDriftOptions,
): [number, HorizontalBin][] {
  const members = new Map<number, number[]>();
  const sighting: Sighting = { middle: 0, duration: 0 };
  const see = sightingsOf(times, pass);
  for (let i = 0; i < walls.distance.length; i++) {
    see(walls.x[i], walls.y[i], sighting);
    // Seen for longer than a bin, or from a standing vehicle: it belongs to no moment. NaN: the pass has no time there.
    if (!(sighting.duration <= seconds)) continue;
    const key = Math.floor(sighting.middle / seconds);
    const list = members.get(key) ?? [];
    list.push(i);
    members.set(key, list);
  }
  return [...members].flatMap(([key, list]) => {
    const bin = list.length >= minCells ? solveBin(walls, list, key * seconds, minCells) : null;
    return bin ? [[key, bin] as [number, HorizontalBin]] : [];
  });
}

function solveBin(walls: WallPlanes, list: readonly number[], time: number, minSupport: number): HorizontalBin | null {
  const normals = Float64Array.from(
    { length: list.length * 3 },
    (_, k) => walls.normal[list[Math.floor(k / 3)] * 3 + (k % 3)],
  );
  const distances = Float64Array.from(list, (i) => walls.distance[i]);
  const variances = Float64Array.from(list, (i) => walls.variance[i]);
  const { directions } = solveShift(normals, distances, list.length, { ...OUTLIER, minSupport, variances });
  if (directions.length === 0) return null;
  const mean = (values: Float64Array) => list.reduce((sum, i) => sum + values[i], 0) / list.length;
  return {
    time,
    x: mean(walls.x),
    y: mean(walls.y),
    offset: Math.hypot(...directions.map(({ distance }) => distance)),
    std: Math.max(...directions.map(({ std }) => std)),
    whole: directions.length === 2,
  };
}

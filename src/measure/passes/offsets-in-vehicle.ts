import type { VehiclePose, VehiclePoses } from '../../delivery/vehicle-poses.js';
import { median } from '../../geometry/statistics.js';
import type { PassPair } from '../pass-pairs.js';
import { type PassTimes, type Sighting, sightingsOf } from '../pass-times.js';
import { type AxisEstimate, AxisObservations, fitVehicleOffset, type VehicleOffset } from './vehicle-axes.js';

/** A cell with points over a longer time was passed twice, or measured from a stopped vehicle. Seconds. */
const LONGEST_SIGHT = 5;

/** The offset of a pass from the others in one bin of GPS time. */
export interface OffsetBin {
  /** Begin of the bin, seconds, and the place of the vehicle in its middle, metres. */
  time: number;
  x: number;
  y: number;
  along: AxisEstimate | null;
  left: AxisEstimate | null;
  up: AxisEstimate | null;
}

/** Bins of one pass, in order of time. */
export interface OffsetSeries {
  pass: number;
  bins: OffsetBin[];
}

/**
 * Every pass against the others along its GPS time, along, left of and above the vehicle that drove it: level surfaces show the height,
 * walls the rest. Of several other passes the median counts. Metres.
 */
export function offsetsInVehicle(
  pairs: readonly PassPair[],
  times: PassTimes,
  poses: VehiclePoses,
  { bin, minCells }: { bin: number; minCells: number },
): OffsetSeries[] {
  const passes = new Map<number, Map<number, VehicleOffset[]>>();
  for (const pair of pairs) {
    for (const pass of [pair.a, pair.b]) {
      const known = passes.get(pass) ?? new Map<number, VehicleOffset[]>();
      passes.set(pass, known);
      for (const [key, seen] of observationsByBin(pair, pass, times, poses, bin)) {
        const offset = fitVehicleOffset(seen, 3, minCells);
        const list = known.get(key);
        if (list) list.push(offset);
        else known.set(key, [offset]);
      }
    }
  }
  return [...passes]
    .sort(([p], [q]) => p - q)
    .map(([pass, bins]) => ({
      pass,
      bins: [...bins].sort(([p], [q]) => p - q).flatMap(([key, offsets]) => binOf(key, offsets, poses, bin) ?? []),
    }));
}

function binOf(key: number, offsets: readonly VehicleOffset[], poses: VehiclePoses, seconds: number): OffsetBin | null {
  const pose = emptyPose();
  if (!poses.at((key + 0.5) * seconds, pose)) return null;
  const of = (axis: 'along' | 'left' | 'up'): AxisEstimate | null => {
    const known = offsets.flatMap((offset) => offset[axis] ?? []);
    if (known.length === 0) return null;
    const middle = (key: 'value' | 'std' | 'at') => median(known.map((one) => one[key]));
    return { value: middle('value'), std: middle('std'), at: middle('at') };
  };
  const [along, left, up] = [of('along'), of('left'), of('up')];
  if (along === null && left === null && up === null) return null;
  return { time: key * seconds, x: pose.x, y: pose.y, along, left, up };
}

/**
 * How the second head of a pair lies against the first, in the frame of the vehicle, as if all of it were an error of the second: both
 * heads share one trajectory, so it is their mounting. Null for what no surface shows.
 */
export function mountingOffset(pair: PassPair, times: PassTimes, poses: VehiclePoses): VehicleOffset {
  const all = new AxisObservations();
  observe(pair, pair.b, times, poses, LONGEST_SIGHT, () => all);
  return fitVehicleOffset(all, 6, LEAST_DISTANCES);
}

/** Distances from which a mounting is estimated. */
const LEAST_DISTANCES = 100;

function observationsByBin(
  pair: PassPair,
  pass: number,
  times: PassTimes,
  poses: VehiclePoses,
  seconds: number,
): Map<number, AxisObservations> {
  const bins = new Map<number, AxisObservations>();
  observe(pair, pass, times, poses, Math.min(seconds, LONGEST_SIGHT), (time) => {
    const key = Math.floor(time / seconds);
    const known = bins.get(key) ?? new AxisObservations();
    bins.set(key, known);
    return known;
  });
  return bins;
}

/** Adds every distance between the passes of a pair, seen from the scanner of one of them, to what `into` gives for its time. */
function observe(
  { a, map, walls }: PassPair,
  pass: number,
  times: PassTimes,
  poses: VehiclePoses,
  longest: number,
  into: (time: number) => AxisObservations,
): void {
  const sign = pass === a ? -1 : 1;
  const sighting: Sighting = { middle: 0, duration: 0 };
  const see = sightingsOf(times, pass);
  const pose = emptyPose();
  const posed = (x: number, y: number) => {
    see(x, y, sighting);
    return sighting.duration <= longest && poses.at(sighting.middle, pose);
  };
  const forward = (x: number, y: number) => x * pose.east + y * pose.north;
  const left = (x: number, y: number) => y * pose.east - x * pose.north;
  for (let i = 0; i < map.dz.length; i++) {
    if (!posed(map.x[i], map.y[i])) continue;
    const [dx, dy] = [map.x[i] - pose.x, map.y[i] - pose.y];
    into(sighting.middle).add(sighting.middle, [0, 0, 1], [forward(dx, dy), left(dx, dy), 0], sign * map.dz[i]);
  }
  for (let i = 0; walls !== undefined && i < walls.distance.length; i++) {
    if (!posed(walls.x[i], walls.y[i])) continue;
    const [nx, ny] = [walls.normal[i * 3], walls.normal[i * 3 + 1]];
    const [dx, dy] = [walls.x[i] - pose.x, walls.y[i] - pose.y];
    const from = [forward(dx, dy), left(dx, dy), walls.z[i] - pose.z] as const;
    into(sighting.middle).add(sighting.middle, [forward(nx, ny), left(nx, ny), 0], from, sign * walls.distance[i]);
  }
}

function emptyPose(): VehiclePose {
  return { x: 0, y: 0, z: 0, east: 0, north: 0 };
}

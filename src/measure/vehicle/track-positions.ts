import type { TrackColumns } from '../../delivery/vehicle-track.js';

/** Places of the scanner at the times of the points of a batch, tenths of a millimetre; NaN where there is none. */
export interface TrackPositions {
  east: Float64Array;
  north: Float64Array;
  up: Float64Array;
}

// Scratch of this thread, reused by every batch.
const positions: TrackPositions = {
  east: new Float64Array(0),
  north: new Float64Array(0),
  up: new Float64Array(0),
};

/**
 * Places of the scanner at times, by linear interpolation between two epochs. They depend on the time alone, so that no order of points
 * changes them. Neighbouring points are near in time: the walk goes from epoch to epoch, and searches only after a jump.
 * @returns arrays that are used again for the next batch; the first `count` values are those of `times`
 */
export function positionsAt(track: TrackColumns, times: Float64Array, count: number): TrackPositions {
  if (positions.east.length < count) {
    positions.east = new Float64Array(times.length);
    positions.north = new Float64Array(times.length);
    positions.up = new Float64Array(times.length);
  }
  const { time, east, north, up } = track;
  const outEast = positions.east;
  const outNorth = positions.north;
  const outUp = positions.up;
  const last = time.length - 1;
  let epoch = -2;
  let from = Number.NaN;
  let to = Number.NaN;
  let east0 = Number.NaN;
  let north0 = Number.NaN;
  let up0 = Number.NaN;
  let eastRate = Number.NaN;
  let northRate = Number.NaN;
  let upRate = Number.NaN;
  for (let i = 0; i < count; i++) {
    const t = times[i];
    if (!(t >= from && t < to)) {
      if (epoch >= 0 && epoch + 2 <= last && t >= to && t < time[epoch + 2]) epoch++;
      else epoch = epochAt(time, t);
      const within = epoch >= 0 && epoch < last;
      from = epoch >= 0 ? time[epoch] : Number.NEGATIVE_INFINITY;
      to = epoch < last ? time[epoch + 1] : Number.POSITIVE_INFINITY;
      const seconds = to - from;
      east0 = within ? east[epoch] : Number.NaN;
      north0 = within ? north[epoch] : Number.NaN;
      up0 = within ? up[epoch] : Number.NaN;
      eastRate = within ? (endOf(east, epoch) - east0) / seconds : Number.NaN;
      northRate = within ? (endOf(north, epoch) - north0) / seconds : Number.NaN;
      upRate = within ? (endOf(up, epoch) - up0) / seconds : Number.NaN;
    }
    const passed = t - from;
    outEast[i] = east0 + passed * eastRate;
    outNorth[i] = north0 + passed * northRate;
    outUp[i] = up0 + passed * upRate;
  }
  return positions;
}

/** Value at the next epoch. Where that is the moment after the end of a drive, the vehicle has not moved. */
function endOf(values: Float64Array, epoch: number): number {
  const end = values[epoch + 1];
  return Number.isNaN(end) ? values[epoch] : end;
}

/** The last epoch that is not after a time; -1 before the first one, and for a time that is no number. */
function epochAt(time: Float64Array, t: number): number {
  let low = -1;
  let high = time.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (time[middle] <= t) low = middle;
    else high = middle - 1;
  }
  return low;
}

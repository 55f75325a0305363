import { reach, STRIP, takePlace } from './loops.js';

/** Columns of points: whole coordinates, the pass of each, and 0 in `live` where one does not count. */
export interface PlacedPoints {
  count: number;
  east: Float64Array;
  north: Float64Array;
  up: Float64Array;
  pass: Int32Array;
  live: Uint8Array;
}

const east = takePlace(Float64Array, STRIP);
const north = takePlace(Float64Array, STRIP);
const up = takePlace(Float64Array, STRIP);
const pass = takePlace(Int32Array, STRIP);
const live = takePlace(Uint8Array, STRIP);

/** Addresses of a strip of points. */
export interface Strip {
  count: number;
  east: number;
  north: number;
  pass: number;
  live: number;
}

/** Brings the strip of points from `from` on to where the loops reach it; heights are brought by `reachUp`. */
export function reachStrip(points: Omit<PlacedPoints, 'up'>, from: number): Strip {
  const count = Math.min(STRIP, points.count - from);
  return {
    count,
    east: reach(points.east, from, count, east),
    north: reach(points.north, from, count, north),
    pass: reach(points.pass, from, count, pass),
    live: reach(points.live, from, count, live),
  };
}

/** Address of the heights of a strip. */
export function reachUp(points: PlacedPoints, from: number, count: number): number {
  return reach(points.up, from, count, up);
}

import { allocate, inputAddress, STRIP } from './loops.js';

/** Columns of points: world coordinates as integers in f64, index of the pass, and `valid`: 0 for points that are not counted. */
export interface WorldPoints {
  count: number;
  east: Float64Array;
  north: Float64Array;
  up: Float64Array;
  pass: Int32Array;
  valid: Uint8Array;
}

const east = allocate(Float64Array, STRIP);
const north = allocate(Float64Array, STRIP);
const up = allocate(Float64Array, STRIP);
const pass = allocate(Int32Array, STRIP);
const valid = allocate(Uint8Array, STRIP);

/** Number of points of a strip and the addresses of their columns in the loops' memory. */
export interface Strip {
  count: number;
  east: number;
  north: number;
  pass: number;
  valid: number;
}

/** Addresses of a strip of points from index `from` on, copied to the loops' memory if needed; heights: see `upAddress`. */
export function stripAddresses(points: Omit<WorldPoints, 'up'>, from: number): Strip {
  const count = Math.min(STRIP, points.count - from);
  return {
    count,
    east: inputAddress(points.east, from, count, east),
    north: inputAddress(points.north, from, count, north),
    pass: inputAddress(points.pass, from, count, pass),
    valid: inputAddress(points.valid, from, count, valid),
  };
}

/** Address of the heights of a strip of points, copied to the loops' memory if needed. */
export function upAddress(points: WorldPoints, from: number, count: number): number {
  return inputAddress(points.up, from, count, up);
}

import { allocate, inputAddress, STRIP } from './loops.js';

/** Columns of points: whole coordinates, the pass of each, and 0 in `valid` where one does not count. */
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

/** Addresses of a strip of points. */
export interface Strip {
  count: number;
  east: number;
  north: number;
  pass: number;
  valid: number;
}

/** Brings the strip of points from `from` on to where the loops reach it; heights are brought by `reachUp`. */
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

/** Address of the heights of a strip. */
export function upAddress(points: WorldPoints, from: number, count: number): number {
  return inputAddress(points.up, from, count, up);
}

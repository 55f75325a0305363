import { BLOCK_POINTS, Flag, type PointBatch } from '../cloud/columns.js';
import { type MeasuredBatch, QUANTA_PER_METRE } from '../measure/measurement.js';
import type { PassAssignment, TaskFile } from './task.js';

/** Scale and offset of a file's coordinates, as in its header. */
export interface Placement {
  scale: readonly number[];
  offset: readonly number[];
}

/** Makes the reusable batch that `place` fills. */
export function createMeasuredBatch(points: PointBatch, capacity = BLOCK_POINTS): MeasuredBatch {
  return {
    points,
    count: 0,
    east: new Float64Array(capacity),
    north: new Float64Array(capacity),
    up: new Float64Array(capacity),
    pass: new Int32Array(capacity),
    live: new Uint8Array(capacity),
    box: new Float64Array(6),
    file: 0,
  };
}

/**
 * Works out, once for all measurements, where the points are in the world and which pass they belong to. World
 * coordinates are rounded to whole quanta of 0.1 mm: a function of the point alone, so that sums do not depend on how
 * points were split over workers.
 */
export function place(
  target: MeasuredBatch,
  points: PointBatch,
  at: Placement,
  file: number,
  units: TaskFile,
  passes: PassAssignment,
): void {
  const count = points.count;
  target.points = points;
  target.count = count;
  target.file = file;
  const plan = units.planUnit * QUANTA_PER_METRE;
  const height = units.heightUnit * QUANTA_PER_METRE;
  toQuanta(points.x, count, at.scale[0], at.offset[0], plan, target.east);
  toQuanta(points.y, count, at.scale[1], at.offset[1], plan, target.north);
  toQuanta(points.z, count, at.scale[2], at.offset[2], height, target.up);
  const { flags } = points;
  const { live } = target;
  for (let i = 0; i < count; i++) live[i] = (flags[i] & Flag.withheld) === 0 ? 1 : 0;
  tellPasses(target, points, file, passes);
  findBox(target);
}

function toQuanta(
  raw: Int32Array,
  count: number,
  scale: number,
  offset: number,
  unit: number,
  out: Float64Array,
): void {
  // Where scale and offset are whole quanta, as with 1 mm and 0.1 mm, integer arithmetic is exact and needs no rounding.
  const step = scale * unit;
  const start = offset * unit;
  const wholeStep = Math.round(step);
  const wholeStart = Math.round(start);
  if (Math.abs(step - wholeStep) < 1e-9 && Math.abs(start - wholeStart) < 1e-4 && wholeStep > 0) {
    for (let i = 0; i < count; i++) out[i] = raw[i] * wholeStep + wholeStart;
    return;
  }
  for (let i = 0; i < count; i++) out[i] = Math.round((raw[i] * scale + offset) * unit);
}

function tellPasses(target: MeasuredBatch, points: PointBatch, file: number, passes: PassAssignment): void {
  const { pass, count } = target;
  switch (passes.by) {
    case 'point-source-id': {
      const { pointSourceId } = points;
      for (let i = 0; i < count; i++) pass[i] = pointSourceId[i];
      break;
    }
    case 'scanner-channel': {
      const { scannerChannel } = points;
      for (let i = 0; i < count; i++) pass[i] = scannerChannel[i];
      break;
    }
    case 'file':
      pass.fill(file, 0, count);
      break;
    case 'gps-time-gap':
      tellSegments(pass, points.gpsTime, count, passes.starts);
  }
}

function tellSegments(pass: Int32Array, time: Float64Array, count: number, starts: Float64Array): void {
  let segment = 0;
  for (let i = 0; i < count; i++) {
    const t = time[i];
    if (!(t >= starts[segment] && (segment + 1 === starts.length || t < starts[segment + 1]))) {
      let low = 0;
      let high = starts.length - 1;
      while (low < high) {
        const middle = (low + high + 1) >> 1;
        if (starts[middle] <= t) low = middle;
        else high = middle - 1;
      }
      segment = low;
    }
    pass[i] = segment;
  }
}

function findBox(target: MeasuredBatch): void {
  const { east, north, up, live, count, box } = target;
  let x0 = Number.POSITIVE_INFINITY;
  let y0 = x0;
  let z0 = x0;
  let x1 = Number.NEGATIVE_INFINITY;
  let y1 = x1;
  let z1 = x1;
  for (let i = 0; i < count; i++) {
    if (live[i] === 0) continue;
    const x = east[i];
    const y = north[i];
    const z = up[i];
    if (x < x0) x0 = x;
    if (x > x1) x1 = x;
    if (y < y0) y0 = y;
    if (y > y1) y1 = y;
    if (z < z0) z0 = z;
    if (z > z1) z1 = z;
  }
  box[0] = x0;
  box[1] = y0;
  box[2] = z0;
  box[3] = x1;
  box[4] = y1;
  box[5] = z1;
}

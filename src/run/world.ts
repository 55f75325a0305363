import { BLOCK_POINTS, Flag, type PointBatch } from '../cloud/columns.js';
import { grouped } from '../cloud/text.js';
import { FARTHEST_METRES, isBeyondEarth } from '../delivery/farthest.js';
import { Fault } from '../fault.js';
import { toWorld } from '../kernel/world.js';
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
    onlyPass: null,
    live: new Uint8Array(capacity).fill(1),
    withheld: 0,
    box: new Float64Array(6),
    file: 0,
  };
}

/**
 * Works out, once for all measurements, where the points are in the world and which pass they belong to. World
 * coordinates are rounded to whole quanta of 0.1 mm: a function of the point alone, so that sums do not depend on how
 * points were split over workers.
 * @throws Fault `coordinates-beyond-range` for points that lie nowhere on Earth
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
  const { box } = target;
  for (let axis = 0; axis < 3; axis++) {
    const how = { scale: at.scale[axis], offset: at.offset[axis], unit: axis < 2 ? plan : height };
    const raw = axis === 0 ? points.x : axis === 1 ? points.y : points.z;
    const out = axis === 0 ? target.east : axis === 1 ? target.north : target.up;
    const [low, high] = toWorld(raw, count, how, out);
    box[axis] = low;
    box[axis + 3] = high;
  }
  if (!units.anywhere) refuseFar(box, count, units.address);
  markWithheld(target, points.flags);
  tellPasses(target, points, file, passes);
}

/** Looks at the box only, which holds every point. What is no number at all is refused too. */
function refuseFar(box: Float64Array, count: number, where: string): void {
  if (count === 0) return;
  for (let k = 0; k < 6; k++) {
    const metres = box[k] / QUANTA_PER_METRE;
    if (!isBeyondEarth(metres)) continue;
    throw new Fault({
      code: 'coordinates-beyond-range',
      where,
      what: `the ${'xyz'[k % 3]} coordinates of some points lie beyond any place on Earth`,
      found: `${Math.abs(metres) < 1e15 ? grouped(Math.round(metres)) : metres.toPrecision(3)} m`,
      expected: `within ${grouped(FARTHEST_METRES)} m`,
      advice: 'Look for a wrong scale or offset in the header, and write the file again',
    });
  }
}

/** Marks withheld points; where there are any, the box is found again from the others. */
function markWithheld(target: MeasuredBatch, flags: Uint8Array): void {
  const { live, count } = target;
  const bit = Flag.withheld;
  let withheld = 0;
  for (let i = 0; i < count; i++) if ((flags[i] & bit) !== 0) withheld++;
  if (withheld === 0 && target.withheld === 0) return;
  for (let i = 0; i < count; i++) live[i] = (flags[i] & bit) === 0 ? 1 : 0;
  if (withheld === 0) live.fill(1);
  target.withheld = withheld;
  if (withheld > 0) findBox(target);
}

function tellPasses(target: MeasuredBatch, points: PointBatch, file: number, passes: PassAssignment): void {
  const { pass, count } = target;
  target.onlyPass = null;
  switch (passes.by) {
    case 'point-source-id':
      copyKeys(points.pointSourceId, pass, count);
      break;
    case 'scanner-channel':
      copyKeys(points.scannerChannel, pass, count);
      break;
    case 'file':
      pass.fill(file, 0, count);
      break;
    case 'gps-time-gap':
      tellSegments(pass, points.gpsTime, count, passes.starts);
  }
  let i = 1;
  while (i < count && pass[i] === pass[0]) i++;
  if (count > 0 && i === count) target.onlyPass = pass[0];
}

function copyKeys(keys: Uint8Array | Uint16Array, pass: Int32Array, count: number): void {
  const first = keys[0];
  let i = 1;
  while (i < count && keys[i] === first) i++;
  if (i >= count) pass.fill(first, 0, count);
  else for (let k = 0; k < count; k++) pass[k] = keys[k];
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

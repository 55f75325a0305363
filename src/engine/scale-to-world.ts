import { BLOCK_POINTS, Flag, type PointBatch } from '../cloud/columns.js';
import { grouped } from '../cloud/text.js';
import { FARTHEST_METRES, isBeyondEarth } from '../delivery/largest-coordinate.js';
import { passKeyParts } from '../delivery/passes.js';
import { Fault } from '../fault.js';
import { allocate } from '../kernel/loops.js';
import { orBytes, toWorld, widen } from '../kernel/scale.js';
import { ThreadBuffer } from '../kernel/thread-buffer.js';
import { type MeasuredBatch, QUANTA_PER_METRE } from '../measure/contract/measurement.js';
import type { JobFile, PassAssignment } from './job.js';
import { refuseScattered } from './spatial-coherence.js';

/** Scale and offset of a file's coordinates, as in its header. */
export interface Georeference {
  scale: readonly number[];
  offset: readonly number[];
}

/** Arrays of a measured batch. */
type PlacedColumns = Pick<MeasuredBatch, 'east' | 'north' | 'up' | 'pass' | 'valid'>;

/** Columns in the memory of the compiled loops, so that nothing has to be copied there. Each thread has one set. */
export const threadColumns = new ThreadBuffer<PlacedColumns>(() => ({
  east: allocate(Float64Array, BLOCK_POINTS).view,
  north: allocate(Float64Array, BLOCK_POINTS).view,
  up: allocate(Float64Array, BLOCK_POINTS).view,
  pass: allocate(Int32Array, BLOCK_POINTS).view,
  valid: allocate(Uint8Array, BLOCK_POINTS).view,
}));

/** The batch that `scaleToWorld` fills; it is used again for every batch of points. @param columns arrays to use, for BLOCK_POINTS points */
export function createMeasuredBatch(
  points: PointBatch,
  capacity = BLOCK_POINTS,
  columns: PlacedColumns | null = null,
): MeasuredBatch {
  const { east, north, up, pass, valid } = columns ?? {
    east: new Float64Array(capacity),
    north: new Float64Array(capacity),
    up: new Float64Array(capacity),
    pass: new Int32Array(capacity),
    valid: new Uint8Array(capacity),
  };
  return {
    points,
    count: 0,
    east,
    north,
    up,
    pass,
    onlyPass: null,
    valid: valid.fill(1),
    withheld: 0,
    box: new Float64Array(6),
    file: 0,
  };
}

/**
 * Computes the world coordinates and the pass of every point of a batch, once for all measurements. World coordinates are
 * rounded to whole quanta of 0.1 mm. They depend on the point alone, so that sums do not depend on how the points are
 * divided among workers.
 * @throws Fault `coordinates-beyond-range` for coordinates beyond any place on Earth, `points-scattered` for consecutive
 * points that are scattered over a large area
 */
export function scaleToWorld(
  target: MeasuredBatch,
  points: PointBatch,
  at: Georeference,
  file: number,
  units: JobFile,
  passes: PassAssignment,
): void {
  const count = points.count;
  target.points = points;
  target.count = count;
  target.file = file;
  const plan = units.horizontalUnit * QUANTA_PER_METRE;
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
  if (!units.coordinatesUnusable) {
    refuseFar(box, count, units.address);
    refuseScattered(target, units.extentLimit ?? null, units.address);
  }
  markWithheld(target, points.flags);
  assignPasses(target, points, file, passes);
}

/** Checks the box of the batch, which contains every point. Coordinates that are not numbers are refused too. */
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

/** Marks withheld points; where there are any, the box is computed again from the valid points. */
function markWithheld(target: MeasuredBatch, flags: Uint8Array): void {
  const { valid, count } = target;
  const bit = Flag.withheld;
  const any = (orBytes(flags, count) & bit) !== 0;
  if (!any && target.withheld === 0) return;
  let withheld = 0;
  for (let i = 0; any && i < count; i++) if ((flags[i] & bit) !== 0) withheld++;
  for (let i = 0; i < count; i++) valid[i] = (flags[i] & bit) === 0 ? 1 : 0;
  if (withheld === 0) valid.fill(1);
  target.withheld = withheld;
  if (withheld > 0) findBox(target);
}

function assignPasses(target: MeasuredBatch, points: PointBatch, file: number, passes: PassAssignment): void {
  const { pass, count } = target;
  const same = fillPasses(pass, points, count, file, passes);
  target.onlyPass = count > 0 && same ? pass[0] : null;
}

/** @returns whether all points belong to one pass */
function fillPasses(
  pass: Int32Array,
  points: PointBatch,
  count: number,
  file: number,
  passes: PassAssignment,
): boolean {
  const parts = passKeyParts(passes, passes.starts?.length ?? 1);
  const [first, ...others] = parts;
  let same = fillValues(pass, points, count, file, first.criterion, passes);
  for (const { criterion, radix } of others) {
    const uniform = fillValues(values, points, count, file, criterion, passes);
    for (let i = 0; i < count; i++) pass[i] = pass[i] * radix + values[i];
    same &&= uniform;
  }
  return same;
}

// Scratch of this thread: values of the second and further criteria.
const values = new Int32Array(BLOCK_POINTS);

/** Writes the value of a criterion for every point. @returns whether all are equal */
function fillValues(
  out: Int32Array,
  points: PointBatch,
  count: number,
  file: number,
  criterion: PassAssignment['by'][number],
  { starts, sections }: PassAssignment,
): boolean {
  switch (criterion) {
    case 'point-source-id':
      return widen(points.pointSourceId, count, out);
    case 'file':
      out.fill(file, 0, count);
      return true;
    case 'scanner-channel':
      for (let i = 0; i < count; i++) out[i] = points.scannerChannel[i];
      break;
    case 'gps-time-gap':
      fillSegments(out, points.gpsTime, count, starts!);
      break;
    case 'trajectory':
      fillSections(out, points.gpsTime, count, sections!);
  }
  let i = 1;
  while (i < count && out[i] === out[0]) i++;
  return i >= count;
}

function fillSections(
  pass: Int32Array,
  time: Float64Array,
  count: number,
  { starts, values: held }: NonNullable<PassAssignment['sections']>,
): void {
  fillSegments(pass, time, count, starts);
  for (let i = 0; i < count; i++) pass[i] = held[pass[i]];
}

function fillSegments(pass: Int32Array, time: Float64Array, count: number, starts: Float64Array): void {
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
  const { east, north, up, valid, count, box } = target;
  let x0 = Number.POSITIVE_INFINITY;
  let y0 = x0;
  let z0 = x0;
  let x1 = Number.NEGATIVE_INFINITY;
  let y1 = x1;
  let z1 = x1;
  for (let i = 0; i < count; i++) {
    if (valid[i] === 0) continue;
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

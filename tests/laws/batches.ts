import fc from 'fast-check';
import { ALL_COLUMNS, createBatch } from '../../src/cloud/columns.js';
import { createMeasuredBatch, scaleToWorld } from '../../src/engine/scale-to-world.js';
import type { MeasuredBatch } from '../../src/measure/contract/measurement.js';

/** One point as a law test makes it: raw coordinates in millimetres and attributes. */
export interface LawPoint {
  x: number;
  y: number;
  z: number;
  pass: number;
  file: number;
  withheld: boolean;
  returnNumber: number;
  returnCount: number;
  classification: number;
  intensity: number;
  gpsTime: number;
  scanAngle: number;
  userData: number;
  /** Place in its file, from 0: see numbered. */
  ordinal?: number;
}

/** The same points with their places in their files: a point keeps its place however the points are split. */
export function numbered(points: readonly LawPoint[]): LawPoint[] {
  const next = new Map<number, number>();
  return points.map((point) => {
    const ordinal = next.get(point.file) ?? 0;
    next.set(point.file, ordinal + 1);
    return { ...point, ordinal };
  });
}

/** A few square metres, two passes and three files: points meet in cells, and not all of them do. */
export const lawPoint: fc.Arbitrary<LawPoint> = fc.record({
  x: fc.integer({ min: -4000, max: 6000 }),
  y: fc.integer({ min: -4000, max: 6000 }),
  z: fc.integer({ min: -500, max: 1500 }),
  pass: fc.integer({ min: 1, max: 2 }),
  file: fc.integer({ min: 0, max: 2 }),
  withheld: fc.boolean(),
  returnNumber: fc.integer({ min: 0, max: 3 }),
  returnCount: fc.integer({ min: 0, max: 3 }),
  classification: fc.constantFrom(0, 1, 2, 7, 11, 18, 255),
  intensity: fc.integer({ min: 0, max: 65535 }),
  gpsTime: fc.double({ min: 0, max: 500, noNaN: true }),
  scanAngle: fc.integer({ min: -30000, max: 30000 }),
  userData: fc.integer({ min: 0, max: 255 }),
});

/** Offsets as of a real projected system, so that sums meet large coordinates. */
const OFFSET = [561_000, 5_932_000, 12.5] as const;
const SCALE = [0.001, 0.001, 0.001] as const;

/** Measured batches of at most `size` points; a batch holds points of one file, as in a run. */
export function* batchesOf(points: readonly LawPoint[], size: number): Generator<MeasuredBatch> {
  let start = 0;
  while (start < points.length) {
    let end = start + 1;
    while (end < points.length && end - start < size && points[end].file === points[start].file) end++;
    yield batchOf(points.slice(start, end), points[start].ordinal ?? start);
    start = end;
  }
}

function batchOf(points: readonly LawPoint[], first: number): MeasuredBatch {
  const raw = createBatch(new Set(ALL_COLUMNS), points.length, 2);
  raw.count = points.length;
  raw.first = first;
  points.forEach((p, i) => {
    raw.x[i] = p.x;
    raw.y[i] = p.y;
    raw.z[i] = p.z;
    raw.pointSourceId[i] = p.pass;
    raw.flags[i] = p.withheld ? 4 : 0;
    raw.returnNumber[i] = p.returnNumber;
    raw.returnCount[i] = p.returnCount;
    raw.classification[i] = p.classification;
    raw.intensity[i] = p.intensity;
    raw.gpsTime[i] = p.gpsTime;
    raw.scanAngle[i] = p.scanAngle;
    raw.userData[i] = p.userData;
    raw.extra[2 * i] = p.userData;
    raw.extra[2 * i + 1] = p.intensity & 255;
  });
  raw.outsideNode = points.filter((p) => p.x > 5000).length;
  const batch = createMeasuredBatch(raw, points.length);
  const units = { address: '', horizontalUnit: 1, heightUnit: 1 };
  scaleToWorld(batch, raw, { scale: SCALE, offset: OFFSET }, points[0].file, units, { by: ['point-source-id'] });
  return batch;
}

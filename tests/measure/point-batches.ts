import { ALL_COLUMNS, type Column, createBatch } from '../../src/cloud/columns.js';
import { createMeasuredBatch, scaleToWorld } from '../../src/engine/scale-to-world.js';
import type { AnyMeasurement, MeasuredBatch } from '../../src/measure/contract/measurement.js';

/** One point as a test makes it; metres from 561000, 5932000, 0. What is left out is 0, returns are 1 of 1. */
export interface TestPoint {
  x: number;
  y: number;
  z?: number;
  /** Return number and number of returns. */
  of?: readonly [number, number];
  class?: number;
  flags?: number;
  source?: number;
  channel?: number;
  time?: number;
  angle?: number;
  intensity?: number;
  colour?: readonly [number, number, number];
}

export const ORIGIN = [561_000, 5_932_000, 0] as const;

/** Points of one file as a measured batch; `first` is the ordinal of the first of them; `origin`: metres, instead of ORIGIN. */
export function batchOf(
  points: readonly TestPoint[],
  options: { file?: number; first?: number; columns?: readonly Column[]; origin?: readonly number[] } = {},
): MeasuredBatch {
  const raw = createBatch(new Set(options.columns ?? ALL_COLUMNS), Math.max(1, points.length), 0);
  raw.count = points.length;
  raw.first = options.first ?? 0;
  points.forEach((p, i) => {
    raw.x[i] = Math.round(p.x * 10_000);
    raw.y[i] = Math.round(p.y * 10_000);
    raw.z[i] = Math.round((p.z ?? 0) * 10_000);
    [raw.returnNumber[i], raw.returnCount[i]] = p.of ?? [1, 1];
    raw.classification[i] = p.class ?? 0;
    raw.flags[i] = p.flags ?? 0;
    raw.pointSourceId[i] = p.source ?? 0;
    raw.scannerChannel[i] = p.channel ?? 0;
    if (raw.has.has('gpsTime')) raw.gpsTime[i] = p.time ?? 0;
    if (raw.has.has('scanAngle')) raw.scanAngle[i] = p.angle ?? 0;
    raw.intensity[i] = p.intensity ?? 0;
    if (raw.has.has('colour')) [raw.red[i], raw.green[i], raw.blue[i]] = p.colour ?? [0, 0, 0];
  });
  const batch = createMeasuredBatch(raw, Math.max(1, points.length));
  const units = { address: '', horizontalUnit: 1, heightUnit: 1 };
  const at = { scale: [0.0001, 0.0001, 0.0001], offset: options.origin ?? ORIGIN };
  scaleToWorld(batch, raw, at, options.file ?? 0, units, { by: ['point-source-id'] });
  return batch;
}

/** The result of a measurement over files of points, each file cut into blocks of `size`. */
export function measureFiles(
  m: AnyMeasurement,
  params: unknown,
  files: readonly (readonly TestPoint[])[],
  size = 1000,
): unknown {
  const state = m.create(params);
  files.forEach((points, file) => {
    for (let first = 0; first < points.length; first += size)
      m.add(state, batchOf(points.slice(first, first + size), { file, first }));
  });
  return m.finish(state, params);
}

/** The same as `measureFiles`, but every block is measured by itself, packed, and merged from the last block to the first. */
export function measureMerged(
  m: AnyMeasurement,
  params: unknown,
  files: readonly (readonly TestPoint[])[],
  size = 1,
): unknown {
  const parts = files.flatMap((points, file) => {
    const packed: ArrayBuffer[] = [];
    for (let first = 0; first < points.length; first += size) {
      const state = m.create(params);
      m.add(state, batchOf(points.slice(first, first + size), { file, first }));
      packed.push(m.pack(state));
    }
    return packed;
  });
  const state = m.create(params);
  for (const packed of parts.reverse()) m.merge(state, packed);
  return m.finish(state, params);
}

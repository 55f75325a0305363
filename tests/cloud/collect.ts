import type { Cloud } from '../../src/cloud/cloud.js';
import { ALL_COLUMNS, type Column, createBatch, type PointBatch } from '../../src/cloud/columns.js';
import { Fault } from '../../src/fault.js';

export const EVERY: ReadonlySet<Column> = new Set(ALL_COLUMNS);

/** Reads a whole cloud into one batch, checking on the way that ordinals run on without gaps. */
export async function collect(
  cloud: Cloud,
  columns: ReadonlySet<Column> = EVERY,
  target = 1_000_000,
): Promise<PointBatch> {
  const { header } = cloud;
  const minLength = [20, 28, 26, 34, 57, 63, 30, 36, 38, 59, 67][header.pointFormat];
  const all = createBatch(columns, header.pointCount, header.recordLength - minLength);
  let has: ReadonlySet<Column> = columns;
  for (const span of await cloud.spans(target)) {
    if (span.first !== all.count) throw new Error(`span starts at ${span.first}, expected ${all.count}`);
    const before = all.count;
    await cloud.decode(span, columns, (batch) => {
      if (batch.first !== all.count) throw new Error(`batch starts at ${batch.first}, expected ${all.count}`);
      has = batch.has;
      for (const key of KEYS) {
        const from = batch[key];
        const width = from.length / batch.capacity;
        if (width > 0)
          (all[key] as Uint8Array).set((from as Uint8Array).subarray(0, batch.count * width), all.count * width);
      }
      all.count += batch.count;
    });
    if (all.count - before !== span.points)
      throw new Error(`span gave ${all.count - before} points, announced ${span.points}`);
  }
  return { ...all, has };
}

export const KEYS = [
  'x',
  'y',
  'z',
  'intensity',
  'returnNumber',
  'returnCount',
  'flags',
  'classification',
  'scannerChannel',
  'scanAngle',
  'userData',
  'pointSourceId',
  'gpsTime',
  'red',
  'green',
  'blue',
  'nir',
  'waveform',
  'extra',
] as const;

/** The code of the Fault a promise is rejected with; fails when it is not, or with anything else. */
export async function faultCode(promise: Promise<unknown>): Promise<string> {
  try {
    await promise;
  } catch (error) {
    if (error instanceof Fault) return error.facts.code;
    throw error;
  }
  throw new Error('expected a Fault, nothing was thrown');
}

/** Whether two columns hold the same bytes; `toEqual` on typed arrays of this length is a thousand times slower. */
export function sameBytes(a: ArrayBufferView, b: ArrayBufferView): boolean {
  const bytes = (v: ArrayBufferView) => Buffer.from(v.buffer, v.byteOffset, v.byteLength);
  return bytes(a).equals(bytes(b));
}

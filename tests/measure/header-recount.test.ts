import { describe, expect, it } from 'vitest';
import { ALL_COLUMNS } from '../../src/cloud/columns.js';
import { headerRecount, type Recount } from '../../src/measure/header-recount.js';
import { batchOf, measureFiles, measureMerged, type TestPoint } from './point-batches.js';

const byReturn = (counts: Record<number, number>) => Array.from({ length: 16 }, (_, k) => counts[k] ?? 0);

describe('header recount', () => {
  const files: TestPoint[][] = [
    [
      { x: 1, y: -2, z: 3, of: [1, 2], time: 20 },
      { x: -1, y: 2, z: -3, of: [2, 2], time: 10 },
      // A withheld point is in the file, so the header counts it.
      { x: 5, y: 0, z: 0, of: [15, 15], time: 30, flags: 4 },
    ],
    [{ x: 7, y: 8, z: 9, of: [0, 0], time: 5 }],
  ];
  // Raw coordinates are steps of 0.1 mm in these batches.
  const expected: Recount[] = [
    {
      file: 0,
      points: 3,
      raw: [-10_000, -20_000, -30_000, 50_000, 20_000, 30_000],
      byReturn: byReturn({ 1: 1, 2: 1, 15: 1 }),
      gps: [10, 30],
    },
    {
      file: 1,
      points: 1,
      raw: [70_000, 80_000, 90_000, 70_000, 80_000, 90_000],
      byReturn: byReturn({ 0: 1 }),
      gps: [5, 5],
    },
  ];

  it('counts points, returns, extent and times file by file', () => {
    expect(measureFiles(headerRecount, null, files, 2)).toEqual(expected);
    expect(measureMerged(headerRecount, null, files)).toEqual(expected);
  });

  it('has no times where the format has none, or none is a number', () => {
    const state = headerRecount.create(null);
    headerRecount.add(state, batchOf([{ x: 0, y: 0 }], { columns: ALL_COLUMNS.filter((c) => c !== 'gpsTime') }));
    expect(headerRecount.finish(state, null)[0].gps).toBeNull();
    const never = measureFiles(headerRecount, null, [[{ x: 0, y: 0, time: Number.NaN }]]) as Recount[];
    expect(never[0].gps).toBeNull();
  });

  it('knows no file without points, and refuses what is no packed state of its own', () => {
    expect(measureFiles(headerRecount, null, [])).toEqual([]);
    expect(() => headerRecount.merge(headerRecount.create(null), new ArrayBuffer(16))).toThrow(RangeError);
  });
});

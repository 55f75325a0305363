import { describe, expect, it } from 'vitest';
import { ALL_COLUMNS } from '../../src/cloud/columns.js';
import { type PassTimes, passTimes, type Sighting, sightingsOf } from '../../src/measure/pass-times.js';
import { batchOf, measureFiles, measureMerged, ORIGIN, type TestPoint } from './point-batches.js';

function lookAt(times: PassTimes, pass: number, x: number, y: number): Sighting {
  const out = { middle: 0, duration: 0 };
  sightingsOf(times, pass)(ORIGIN[0] + x, ORIGIN[1] + y, out);
  return out;
}

const NOTHING = { middle: Number.NaN, duration: Number.NaN };

describe('pass times', () => {
  const points: TestPoint[] = [
    { x: 0.1, y: 0.1, source: 1, time: 12 },
    { x: 0.4, y: 0.4, source: 1, time: 10 },
    { x: 0.2, y: 0.2, source: 2, time: 500 },
    { x: 0.2, y: 0.2, source: 2, time: 900, flags: 4 },
    { x: 0.5, y: 0.4999, source: 1, time: 20 },
    { x: -0.0001, y: 0, source: 1, time: 30 },
    { x: 40, y: 40, source: 1, time: 0 },
  ];

  it.each([
    ['in one go', (p: TestPoint[]) => measureFiles(passTimes, { cell: 0.5 }, [p], 3)],
    ['merged point by point', (p: TestPoint[]) => measureMerged(passTimes, { cell: 0.5 }, [p])],
  ])('tells when each pass saw each cell, %s', (_, measure) => {
    const times = measure(points) as PassTimes;
    expect(lookAt(times, 1, 0.3, 0.3)).toEqual({ middle: 11, duration: 2 });
    expect(lookAt(times, 2, 0.3, 0.3)).toEqual({ middle: 500, duration: 0 });
    expect(lookAt(times, 1, 0.5, 0)).toEqual({ middle: 20, duration: 0 });
    expect(lookAt(times, 1, -0.25, 0.25)).toEqual({ middle: 30, duration: 0 });
    expect(lookAt(times, 1, 40.2, 40.2)).toEqual({ middle: 0, duration: 0 });
    expect(lookAt(times, 3, 0.3, 0.3)).toEqual(NOTHING);
    expect(lookAt(times, 1, 0.3, 0.6)).toEqual(NOTHING);
    expect(lookAt(times, 1, 400, 0)).toEqual(NOTHING);
  });

  it('answers one place after the other, in other blocks and back', () => {
    const times = measureFiles(passTimes, { cell: 0.5 }, [points]) as PassTimes;
    const look = sightingsOf(times, 1);
    const out = { middle: 0, duration: 0 };
    const middles = [0.3, 40.2, 0.3, 400, 0.3].map((x) => {
      look(ORIGIN[0] + x, ORIGIN[1] + (x === 40.2 ? x : 0.3), out);
      return out.middle;
    });
    expect(middles).toEqual([11, 0, 11, Number.NaN, 11]);
  });

  it('knows nothing without points or without times', () => {
    const empty = measureFiles(passTimes, { cell: 0.5 }, []) as PassTimes;
    expect(lookAt(empty, 0, 0, 0)).toEqual(NOTHING);
    const state = passTimes.create({ cell: 0.5 });
    passTimes.add(state, batchOf([{ x: 0, y: 0 }], { columns: ALL_COLUMNS.filter((c) => c !== 'gpsTime') }));
    expect(lookAt(passTimes.finish(state, { cell: 0.5 }), 0, 0, 0)).toEqual(NOTHING);
  });

  it('refuses a state of another cell', () => {
    const packed = passTimes.pack(passTimes.create({ cell: 1 }));
    expect(() => passTimes.merge(passTimes.create({ cell: 0.5 }), packed)).toThrow(RangeError);
  });
});

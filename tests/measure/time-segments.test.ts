import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { timeSegments } from '../../src/measure/time-segments.js';
import { measureFiles, measureMerged, type TestPoint } from './point-batches.js';

const starts = (times: readonly number[], gap = 10) => [
  ...(measureFiles(timeSegments, { gap }, [times.map((time): TestPoint => ({ x: 0, y: 0, time }))], 4) as Float64Array),
];

describe('time segments', () => {
  it('begin where at least the gap has passed without a point', () => {
    expect(starts([0, 5, 9, 19, 28.9, 38.8, 100])).toEqual([0, 19, 100]);
  });

  it('a gap of exactly the length ends a pass, one a little shorter does not, also across bins and before 0', () => {
    expect(starts([1, 11])).toEqual([1, 11]);
    expect(starts([1, 10.999])).toEqual([1]);
    expect(starts([-15, -5, 4.5])).toEqual([-15, -5]);
  });

  it('no points, withheld points and times that are no number give none', () => {
    expect(starts([])).toEqual([]);
    expect(starts([Number.NaN, Number.POSITIVE_INFINITY, 3, Number.NaN, 4])).toEqual([3]);
    const withheld: TestPoint = { x: 0, y: 0, time: 5, flags: 4 };
    expect([...(measureFiles(timeSegments, { gap: 10 }, [[withheld]]) as Float64Array)]).toEqual([]);
  });

  it('agree with sorting all times and looking at each difference', () => {
    const time = fc.integer({ min: -200, max: 200 }).map((v) => v / 2);
    fc.assert(
      fc.property(fc.array(time, { maxLength: 30 }), fc.constantFrom(1, 7, 10), (times, gap) => {
        const sorted = [...times].sort((a, b) => a - b);
        const expected = sorted.filter((t, i) => i === 0 || t - sorted[i - 1] >= gap);
        expect(starts(times, gap)).toEqual(expected);
        const points = times.map((t): TestPoint => ({ x: 0, y: 0, time: t }));
        expect([...(measureMerged(timeSegments, { gap }, [points]) as Float64Array)]).toEqual(expected);
      }),
      { numRuns: 100, seed: 4 },
    );
  });
});

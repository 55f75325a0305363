import { describe, expect, it } from 'vitest';
import { type PointSeconds, pointSeconds } from '../../src/measure/point-seconds.js';
import { measureFiles, measureMerged, type TestPoint } from './point-batches.js';

// Counted by hand: a second of GPS time is from a whole number to the next.
const points: TestPoint[] = [
  { x: 10, y: 20, time: 5 },
  { x: 14, y: 22, time: 5.999 },
  { x: 30, y: 40, time: 7 },
  { x: 11, y: 21, time: 5.5, flags: 4 },
  { x: 12, y: 21, time: Number.NaN },
  { x: 50, y: 60, time: -0.25 },
];

describe('point seconds', () => {
  it('counts the valid points of each second, and says where they are', () => {
    for (const found of [
      measureFiles(pointSeconds, null, [points], 2),
      measureMerged(pointSeconds, null, [points.slice(0, 1), points.slice(1)]),
    ] as PointSeconds[]) {
      expect([...found.second]).toEqual([-1, 5, 7]);
      expect([...found.points]).toEqual([1, 2, 1]);
      // The points of tests are counted from 561,000 and 5,932,000 m.
      expect(Array.from(found.x, (x) => x - 561_000)).toEqual([50, 12, 30]);
      expect(Array.from(found.y, (y) => y - 5_932_000)).toEqual([60, 21, 40]);
    }
  });
});

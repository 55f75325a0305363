import { describe, expect, it } from 'vitest';
import { pointCounts } from '../../src/measure/point-counts.js';
import { measureFiles, measureMerged, ORIGIN, type TestPoint } from './point-batches.js';

/** Quanta of a place given in metres from the origin. */
const at = (...metres: number[]) => metres.map((v, k) => (v + ORIGIN[k % 3]) * 10_000);

describe('point counts', () => {
  const files: TestPoint[][] = [
    [
      { x: 1, y: 2, z: 3, source: 7 },
      { x: -1, y: 5, z: -3, source: 7 },
      { x: 99, y: 99, z: 99, source: 7, flags: 4 },
      { x: 0, y: 0, z: 0, source: 3, flags: 4 },
    ],
    [
      { x: 4, y: 4, z: 4, source: 7 },
      { x: 6, y: 3, z: 5, source: 7 },
    ],
  ];
  const nowhere = [...Array(3).fill(Number.POSITIVE_INFINITY), ...Array(3).fill(Number.NEGATIVE_INFINITY)];
  const expected = [
    { file: 0, pass: 3, points: 1, withheld: 1, box: nowhere },
    { file: 0, pass: 7, points: 3, withheld: 1, box: at(-1, 2, -3, 1, 5, 3) },
    { file: 1, pass: 7, points: 2, withheld: 0, box: at(4, 3, 4, 6, 4, 5) },
  ];

  it.each([1, 2, 3, 1000])('count points, withheld points and extent by file and pass, in blocks of %i', (size) => {
    expect(measureFiles(pointCounts, null, files, size)).toEqual(expected);
    expect(measureMerged(pointCounts, null, files, size)).toEqual(expected);
  });

  it('keep as many passes as there are', () => {
    const many = Array.from({ length: 40 }, (_, source): TestPoint => ({ x: source, y: 0, source }));
    const rows = measureFiles(pointCounts, null, [many]) as ReturnType<typeof pointCounts.finish>;
    expect(rows.map(({ pass, points, box }) => [pass, points, box[0], box[3]])).toEqual(
      many.map((_, k) => [k, 1, at(k)[0], at(k)[0]]),
    );
  });

  it('have no rows without points, and refuse what is no packed state of their own', () => {
    expect(measureFiles(pointCounts, null, [])).toEqual([]);
    expect(() => pointCounts.merge(pointCounts.create(null), new ArrayBuffer(8))).toThrow(RangeError);
  });
});

import { describe, expect, it } from 'vitest';
import { type ClassCounts, classCounts } from '../../src/measure/class-counts.js';
import { measureFiles, measureMerged, type TestPoint } from './point-batches.js';

const files: TestPoint[][] = [
  [
    { x: 0, y: 0, class: 2, of: [1, 1], intensity: 300 },
    { x: 0, y: 0, class: 2, of: [1, 2], intensity: 20 },
    { x: 0, y: 0, class: 255, of: [2, 2], intensity: 65_535 },
  ],
  [{ x: 0, y: 0, class: 0, of: [15, 15], intensity: 21, flags: 4 }],
];

describe('class counts', () => {
  it('counts classes and returns over all files, withheld points as well, and gives the range of intensity', () => {
    const expected: ClassCounts = {
      byClass: [
        { class: 0, points: 1 },
        { class: 2, points: 2 },
        { class: 255, points: 1 },
      ],
      byReturnCount: [
        { returns: 1, points: 1 },
        { returns: 2, points: 2 },
        { returns: 15, points: 1 },
      ],
      intensity: [20, 65_535],
    };
    expect(measureFiles(classCounts, null, files)).toEqual(expected);
    expect(measureMerged(classCounts, null, files)).toEqual(expected);
  });

  it('has no range of intensity without points, and 0 to 0 with one dark point', () => {
    expect(measureFiles(classCounts, null, [])).toEqual({ byClass: [], byReturnCount: [], intensity: null });
    expect((measureFiles(classCounts, null, [[{ x: 0, y: 0 }]]) as ClassCounts).intensity).toEqual([0, 0]);
  });

  it('refuses what is no packed state of its own', () => {
    expect(() => classCounts.merge(classCounts.create(null), new ArrayBuffer(16))).toThrow(RangeError);
  });
});

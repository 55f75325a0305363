import { describe, expect, it } from 'vitest';
import { classReturns } from '../../src/measure/class-returns.js';
import { measureFiles, measureMerged, type TestPoint } from './point-batches.js';

describe('class returns', () => {
  const files: TestPoint[][] = [
    [
      { x: 0, y: 0, class: 2, of: [1, 1] },
      { x: 0, y: 0, class: 6, of: [1, 3] },
      { x: 0, y: 0, class: 6, of: [3, 3] },
    ],
    [{ x: 0, y: 0, class: 255, of: [0, 15], flags: 4 }],
  ];

  it('counts classes, return numbers and returns of the pulse apart, withheld points as well', () => {
    const expected = {
      classes: [
        { class: 2, points: 1 },
        { class: 6, points: 2 },
        { class: 255, points: 1 },
      ],
      returns: [
        { number: 0, points: 1 },
        { number: 1, points: 2 },
        { number: 3, points: 1 },
      ],
      pulses: [
        { returns: 1, points: 1 },
        { returns: 3, points: 2 },
        { returns: 15, points: 1 },
      ],
    };
    expect(measureFiles(classReturns, null, files)).toEqual(expected);
    expect(measureMerged(classReturns, null, files)).toEqual(expected);
  });

  it('has no rows without points, and refuses what is no packed state of its own', () => {
    expect(measureFiles(classReturns, null, [])).toEqual({ classes: [], returns: [], pulses: [] });
    expect(() => classReturns.merge(classReturns.create(null), new ArrayBuffer(8))).toThrow(RangeError);
  });

  it('counts more points than the compiled loop takes at once', () => {
    const many = Array.from({ length: 5000 }, (_, i): TestPoint => ({ x: 0, y: 0, class: i % 2, of: [1, 1] }));
    const found = measureFiles(classReturns, null, [many], 5000) as ReturnType<typeof classReturns.finish>;
    expect(found.classes).toEqual([
      { class: 0, points: 2500 },
      { class: 1, points: 2500 },
    ]);
    expect(found.pulses).toEqual([{ returns: 1, points: 5000 }]);
  });
});

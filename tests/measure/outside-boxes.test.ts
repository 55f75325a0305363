import { describe, expect, it } from 'vitest';
import { type OutsideBox, outsideBoxes } from '../../src/measure/outside-boxes.js';
import { measureFiles, measureMerged, ORIGIN, type TestPoint } from './point-batches.js';

/** A box of 10 m from the origin, in quanta. */
const BOX = [0, 0, 10, 10].map((v, k) => (v + ORIGIN[k % 2]) * 10_000);
const measure = (points: readonly TestPoint[], boxes: (number[] | null)[] = [BOX]) =>
  measureFiles(outsideBoxes, { boxes }, [points], 2) as OutsideBox[];

describe('points outside the box of their file', () => {
  it('counts them and names the worst, measured along the worse axis', () => {
    const points = [
      { x: 5, y: 5 },
      { x: 11, y: 13 },
      { x: -2.5, y: 5 },
      { x: 5, y: 10.0001 },
    ];
    const [found] = measure(points);
    expect(found).toMatchObject({ file: 0, points: 4, outside: 3 });
    expect(found.worst).toEqual({ x: ORIGIN[0] + 11, y: ORIGIN[1] + 13, distance: 3 });
  });

  it('takes points on the edges of the box as inside', () => {
    const corners = [
      { x: 0, y: 0 },
      { x: 10, y: 10 },
      { x: 0, y: 10 },
      // Another point outside, so that the points are looked at one by one.
      { x: 12, y: 0 },
    ];
    expect(measure(corners)[0].outside).toBe(1);
    expect(measure(corners.slice(0, 3))).toEqual([{ file: 0, points: 3, outside: 0, worst: null }]);
  });

  it.each([
    ['west', { x: -1, y: 5 }],
    ['south', { x: 5, y: -1 }],
    ['east', { x: 11, y: 5 }],
    ['north', { x: 5, y: 11 }],
  ])('looks to the %s', (_, point) => {
    expect(measure([point])[0]).toMatchObject({ outside: 1, worst: { distance: 1 } });
  });

  it('leaves withheld points and files without a box aside', () => {
    const points = [
      { x: 50, y: 5, flags: 4 },
      { x: -2, y: 5 },
    ];
    expect(measure(points)[0]).toMatchObject({ points: 1, outside: 1, worst: { distance: 2 } });
    expect(measure(points, [null])).toEqual([]);
    expect(measure(points, [])).toEqual([]);
    expect(measure([points[0]])).toEqual([]);
  });

  it('keeps the same worst of several equal ones whatever the order, and file by file', () => {
    const points = [
      { x: 12, y: 1 },
      { x: -2, y: 7 },
      { x: -2, y: 3 },
      { x: 4, y: 12 },
    ];
    const boxes = [BOX, BOX];
    const whole = measureFiles(outsideBoxes, { boxes }, [points, [{ x: 5, y: 5 }]]) as OutsideBox[];
    expect(whole[0].worst).toEqual({ x: ORIGIN[0] - 2, y: ORIGIN[1] + 3, distance: 2 });
    expect(whole[1]).toEqual({ file: 1, points: 1, outside: 0, worst: null });
    expect(measureMerged(outsideBoxes, { boxes }, [[...points].reverse(), [{ x: 5, y: 5 }]])).toEqual(whole);
  });

  it('refuses what is no packed state of its own', () => {
    expect(() => outsideBoxes.merge(outsideBoxes.create({ boxes: [] }), new ArrayBuffer(16))).toThrow(RangeError);
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { spreadOf } from '../../src/geometry/point-spread.js';

describe('spread of points', () => {
  it('counts quadrants about the middle of the area', () => {
    // By hand: 3 south-west, 1 south-east, 1 north-west, 0 north-east; the nearest two are (1, 1) and (4, 5).
    const spread = spreadOf([1, 4, 40, 60, 10], [1, 5, 20, 10, 70], [0, 0, 100, 80], 'area');
    expect(spread.quarters).toEqual([3, 1, 1, 0]);
    expect(spread.leastShare).toBe(0);
    expect(spread.spacing).toBeCloseTo(5, 12);
    expect(spread.nearest).toEqual([0, 1]);
    expect(spread.diagonal).toBeCloseTo(Math.hypot(100, 80), 12);
    expect(spread.extentShare).toBeCloseTo(Math.hypot(59, 69) / Math.hypot(100, 80), 12);
  });

  it('a corridor across the area has all its points in two quadrants, but evenly in its four stretches', () => {
    const at = Array.from({ length: 20 }, (_, k) => 2.5 + 5 * k);
    const box = [500_000, 5_800_000, 500_100, 5_800_100] as const;
    const x = at.map((t) => box[0] + t);
    const y = at.map((t) => box[1] + t);
    expect(spreadOf(x, y, box, 'area').quarters).toEqual([10, 0, 0, 10]);
    const along = spreadOf(x, y, box, 'corridor');
    expect(along.quarters).toEqual([5, 5, 5, 5]);
    expect(along.leastShare).toBe(0.25);
    expect(along.extentShare).toBeCloseTo(0.95, 9);
  });

  it('finds the nearest two, as trying all pairs does', () => {
    const coordinate = fc.integer({ min: 0, max: 1000 });
    fc.assert(
      fc.property(fc.array(fc.tuple(coordinate, coordinate), { minLength: 2, maxLength: 30 }), (points) => {
        let least = Number.POSITIVE_INFINITY;
        points.forEach(([ax, ay], i) => {
          points.slice(i + 1).forEach(([bx, by]) => {
            least = Math.min(least, Math.hypot(ax - bx, ay - by));
          });
        });
        const found = spreadOf(
          points.map(([x]) => x),
          points.map(([, y]) => y),
          [0, 0, 1000, 1000],
          'area',
        );
        expect(found.spacing).toBeCloseTo(least, 9);
        expect(found.quarters.reduce((a, b) => a + b)).toBe(points.length);
      }),
      { seed: 4, numRuns: 200 },
    );
  });

  it('no point and one point have no spacing; an area without extent is a mistake', () => {
    expect(spreadOf([], [], [0, 0, 1, 1], 'area')).toMatchObject({
      n: 0,
      spacing: null,
      leastShare: 0,
      extentShare: 0,
    });
    expect(spreadOf([0.5], [0.5], [0, 0, 1, 1], 'corridor').spacing).toBeNull();
    expect(() => spreadOf([1], [1], [1, 1, 1, 1], 'area')).toThrow(RangeError);
  });
});

import { describe, expect, it } from 'vitest';
import { findOutliers } from '../../src/geometry/outliers.js';
import { seeded } from './seeded.js';

describe('findOutliers', () => {
  it('Barnett & Lewis (1978) example (data from memory): median 8, NMAD 5.9304, the two large values stand out', () => {
    const { flags, count, median, limit } = findOutliers([3, 4, 7, 8, 10, 949, 951]);
    expect([...flags]).toEqual([0, 0, 0, 0, 0, 1, 1]);
    expect(count).toBe(2);
    expect(median).toBe(8);
    expect(limit).toBeCloseTo(3 * 5.9304, 12);
  });
  it('a value at the limit is kept', () => {
    const values = [-1, 0, 0, 0, 1, 2];
    expect([...findOutliers(values, { factor: 0, floor: 2 }).flags]).toEqual([0, 0, 0, 0, 0, 0]);
    expect([...findOutliers(values, { factor: 0, floor: 1.999 }).flags]).toEqual([0, 0, 0, 0, 0, 1]);
  });
  it('the floor spares a set that is quieter than its own rounding', () => {
    const values = [...Array.from({ length: 50 }, () => 0), 0.0001];
    expect(findOutliers(values).count).toBe(1);
    expect(findOutliers(values, { floor: 0.001 }).count).toBe(0);
  });
  it('finds planted blunders among noise, and few others (3 sigma of a normal: 0.27 %)', () => {
    const random = seeded(21);
    const values = Float64Array.from({ length: 2000 }, (_, i) => (i % 100 === 0 ? 0.3 : random.normal() * 0.01));
    const { flags } = findOutliers(values);
    let clean = 0;
    for (let i = 0; i < flags.length; i++) {
      if (i % 100 === 0) expect(flags[i]).toBe(1);
      else clean += flags[i];
    }
    expect(clean).toBeLessThan(20);
  });
  it('refuses what is undefined', () => {
    expect(() => findOutliers([])).toThrow(RangeError);
    expect(() => findOutliers([1], { factor: -1 })).toThrow(RangeError);
    expect(() => findOutliers([1, Number.NaN])).toThrow(RangeError);
  });
});

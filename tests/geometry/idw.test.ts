import { describe, expect, it } from 'vitest';
import { idwHeight } from '../../src/geometry/idw.js';
import { seeded, shuffled } from './seeded.js';

const points = (...p: [number, number, number][]) =>
  [0, 1, 2].map((k) => Float64Array.from(p, (q) => q[k])) as [Float64Array, Float64Array, Float64Array];

describe('idwHeight', () => {
  it('two points at distances 1 and 2, by hand: weights 1 and 1/4', () => {
    const [x, y, z] = points([1, 0, 10], [0, -2, 20]);
    expect(idwHeight(x, y, z, 2)!.height).toBeCloseTo((10 + 20 / 4) / (1 + 1 / 4), 12);
    expect(idwHeight(x, y, z, 2, { power: 1 })!.height).toBeCloseTo((10 + 20 / 2) / (1 + 1 / 2), 12);
    expect(idwHeight(x, y, z, 2, { power: 3 })!.height).toBeCloseTo((10 + 20 / 8) / (1 + 1 / 8), 12);
  });
  it('equal distances: the mean; points at the survey point decide alone', () => {
    const [x, y, z] = points([1, 0, 1], [0, 1, 2], [-1, 0, 6]);
    expect(idwHeight(x, y, z, 3)).toEqual({ height: 3, used: 3 });
    const at = points([0, 0, 5], [0, 0, 7], [0.1, 0, 100]);
    expect(idwHeight(...at, 3)).toEqual({ height: 6, used: 2 });
  });
  it('stays between the lowest and the highest point, same bits in any order, large powers included', () => {
    const random = seeded(61);
    const p = Array.from(
      { length: 200 },
      () => [random.normal(), random.normal(), random.uniform()] as [number, number, number],
    );
    const s = shuffled(p, random);
    for (const power of [0.5, 2, 40, 500]) {
      const found = idwHeight(...points(...p), 200, { power })!;
      expect(found.height).toBeGreaterThan(0);
      expect(found.height).toBeLessThan(1);
      expect(idwHeight(...points(...s), 200, { power })).toEqual(found);
    }
  });
  it('too few points, bad input', () => {
    const [x, y, z] = points([1, 0, 1], [0, 1, 2]);
    expect(idwHeight(x, y, z, 0)).toBeNull();
    expect(idwHeight(x, y, z, 2, { minPoints: 3 })).toBeNull();
    expect(() => idwHeight(x, y, z, 2, { power: 0 })).toThrow(RangeError);
    expect(() => idwHeight(x, y, z, 3)).toThrow(RangeError);
  });
});

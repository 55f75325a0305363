import { describe, expect, it } from 'vitest';
import { type PassSurface, passSurfaces } from '../../src/measure/pass-surfaces.js';
import { ORIGIN, type TestPoint } from './point-batches.js';
import { resultOfBlocks } from './result-of-blocks.js';

const params = { voxel: 0.5, minPoints: 8 };

/** Points every 0.1 m over a square of 4 m; heights are kept off the borders of voxels. */
const ground = (height: (x: number, y: number) => number, source = 1): TestPoint[] =>
  Array.from({ length: 1600 }, (_, k) => {
    const [x, y] = [(k % 40) * 0.1 + 0.05, Math.floor(k / 40) * 0.1 + 0.05];
    return { x, y, z: 5.1 + height(x, y), source };
  });

const surfaces = (points: readonly TestPoint[]) => resultOfBlocks(passSurfaces, params, points) as PassSurface[];

describe('surfaces of passes', () => {
  it('an even plane shows patches without scatter, on the plane', () => {
    const [surface] = surfaces(ground((x, y) => 0.05 * x - 0.02 * y));
    expect(surface.pass).toBe(1);
    expect(surface.level).toBeGreaterThan(surface.x.length);
    expect(surface.x.length).toBeGreaterThan(10);
    expect(surface.rough).toBe(0);
    surface.x.forEach((x, i) => {
      const [east, north] = [x - ORIGIN[0], surface.y[i] - ORIGIN[1]];
      // Sub-voxels are kept in steps of 0.1 mm.
      expect(Math.abs(surface.z[i] - (5.1 + 0.05 * east - 0.02 * north))).toBeLessThan(0.0002);
      expect(Math.sqrt(surface.variance[i])).toBeLessThan(0.0002);
      expect(surface.range[i]).toBeLessThan(0.0004);
    });
  });

  it('points that lie 4 mm above and below by turns scatter by 4 mm', () => {
    const [surface] = surfaces(ground((x, y) => ((Math.round(x * 10 + y * 10) & 1) === 0 ? 0.004 : -0.004)));
    expect(surface.x.length).toBeGreaterThan(10);
    for (let i = 0; i < surface.x.length; i++) {
      const n = surface.points[i];
      expect(Math.sqrt((surface.variance[i] * (n - 3)) / n)).toBeCloseTo(0.004, 3);
    }
  });

  it('neither steep ground nor a kerb of 0.1 m has surfaces there', () => {
    // 0.2 is 11.3 degrees, above 10.
    expect(surfaces(ground((x) => 0.2 * x))[0]).toMatchObject({ level: 0, x: new Float64Array(0) });
    const [kerb] = surfaces(ground((x) => (x > 2 ? 0.1 : 0)));
    expect(kerb.x.length).toBeGreaterThan(0);
    for (const x of kerb.x) expect(Math.abs(x - ORIGIN[0] - 2)).toBeGreaterThan(0.5);
  });

  it('passes are listed in order, each with its own patches; a pass of few points has none', () => {
    const few: TestPoint[] = [{ x: 1, y: 1, z: 5, source: 9 }];
    const found = surfaces([...ground(() => 0.01, 7), ...ground(() => 0, 3), ...few]);
    expect(found.map(({ pass }) => pass)).toEqual([3, 7, 9]);
    expect(found[1].z[0] - found[0].z[0]).toBeCloseTo(0.01, 4);
    expect(found[2]).toMatchObject({ level: 0, rough: 0 });
  });

  it('without points there are none', () => {
    expect(surfaces([])).toEqual([]);
  });
});

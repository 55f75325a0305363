import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type CountedReturns, type DensityGrid, densityGrid } from '../../src/measure/density-grid.js';
import { batchOf, measureFiles, measureMerged, ORIGIN, type TestPoint } from './point-batches.js';

const measure = (points: readonly TestPoint[], count: CountedReturns = 'all', cell = 1) =>
  measureFiles(densityGrid, { cell, count }, [points], 3) as DensityGrid;

/** Column and row from the origin, points. */
const rowsOf = ({ cell, column, row, points }: DensityGrid) =>
  [...points].map((n, i) => [column[i] - ORIGIN[0] / cell, row[i] - ORIGIN[1] / cell, n]);

describe('density grid', () => {
  it('counts first, last and only returns, which are pulses, or all points', () => {
    const points: TestPoint[] = [
      { x: 0.5, y: 0.5, of: [1, 1] },
      { x: 0.5, y: 0.5, of: [1, 3] },
      { x: 0.5, y: 0.5, of: [2, 3] },
      { x: 0.5, y: 0.5, of: [3, 3] },
      { x: 0.5, y: 0.5, of: [1, 1], flags: 4 },
    ];
    const counted = (['all', 'first', 'last', 'only'] as const).map((count) => rowsOf(measure(points, count))[0][2]);
    expect(counted).toEqual([4, 2, 2, 1]);
  });

  it('has no rows without points', () => {
    expect(rowsOf(measure([]))).toEqual([]);
    expect(rowsOf(measure([{ x: 0, y: 0, flags: 4 }]))).toEqual([]);
  });

  it('sorts cells by row, then column, also across blocks and below the origin', () => {
    const points = [
      { x: 100, y: 0 },
      { x: -100, y: 0 },
      { x: 0, y: 100 },
      { x: 0, y: -0.0001 },
      { x: 1, y: 0 },
      { x: 0.9999, y: 0 },
    ];
    expect(rowsOf(measure(points))).toEqual([
      [0, -1, 1],
      [-100, 0, 1],
      [0, 0, 1],
      [1, 0, 1],
      [100, 0, 1],
      [0, 100, 1],
    ]);
  });

  it('agrees with counting one point after the other, whole or merged', () => {
    const point = fc.record({
      x: fc.integer({ min: -200, max: 200 }).map((v) => v / 4),
      y: fc.integer({ min: -200, max: 200 }).map((v) => v / 4),
      flags: fc.constantFrom(0, 0, 4),
    });
    fc.assert(
      fc.property(fc.array(point, { maxLength: 60 }), fc.constantFrom(0.5, 1), (points, cell) => {
        const counted = new Map<string, number>();
        for (const { x, y, flags } of points) {
          if (flags === 4) continue;
          const key = `${Math.floor(x / cell)} ${Math.floor(y / cell)}`;
          counted.set(key, (counted.get(key) ?? 0) + 1);
        }
        const grid = measure(points, 'all', cell);
        expect(new Map(rowsOf(grid).map(([c, r, n]) => [`${c} ${r}`, n]))).toEqual(counted);
        expect(measureMerged(densityGrid, { cell, count: 'all' }, [points], 7)).toEqual(grid);
      }),
      { numRuns: 40, seed: 3 },
    );
  });

  it('has cells with negative numbers south and west of world 0, 0', () => {
    const state = densityGrid.create({ cell: 0.5, count: 'all' });
    densityGrid.add(
      state,
      batchOf(
        [
          { x: -0.0001, y: -0.5 },
          { x: 0, y: -0.5001 },
        ],
        { origin: [0, 0, 0] },
      ),
    );
    const { column, row, points } = densityGrid.finish(state, { cell: 0.5, count: 'all' });
    expect([...column]).toEqual([0, -1]);
    expect([...row]).toEqual([-2, -1]);
    expect([...points]).toEqual([1, 1]);
  });

  it('refuses a state of another cell', () => {
    const packed = densityGrid.pack(densityGrid.create({ cell: 2, count: 'all' }));
    expect(() => densityGrid.merge(densityGrid.create({ cell: 1, count: 'all' }), packed)).toThrow(RangeError);
  });
});

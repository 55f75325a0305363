import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cellHeights, type PassHeights } from '../../src/measure/cell-heights.js';
import { batchOf, measureFiles, measureMerged, ORIGIN, type TestPoint } from './point-batches.js';

const measure = (points: readonly TestPoint[], returns: 'single' | 'last' = 'last', cell = 1) =>
  measureFiles(cellHeights, { cell, returns }, [points], 2) as PassHeights[];

/** Plain rows: pass, column and row from the origin, points, lowest, highest, mean. */
const rowsOf = (found: PassHeights[]) =>
  found.flatMap(({ pass, column, row, points, low, high, mean }) =>
    [...points].map((n, i) => [pass, column[i] - ORIGIN[0], row[i] - ORIGIN[1], n, low[i], high[i], mean[i]]),
  );

describe('cell heights', () => {
  it('keeps the lowest, highest and mean height of each pass and cell, sorted by row, then column', () => {
    const found = measure([
      { x: 0.5, y: 1.5, z: 4, source: 2 },
      { x: 0.5, y: 0.5, z: 1, source: 1 },
      { x: 0.6, y: 0.5, z: 2, source: 1 },
      { x: 0.7, y: 0.5, z: 6, source: 1 },
      { x: 1.5, y: 0.5, z: -3, source: 1 },
      { x: 0.5, y: 1.5, z: 5, source: 1 },
    ]);
    expect(rowsOf(found)).toEqual([
      [1, 0, 0, 3, 1, 6, 3],
      [1, 1, 0, 1, -3, -3, -3],
      [1, 0, 1, 1, 5, 5, 5],
      [2, 0, 1, 1, 4, 4, 4],
    ]);
  });

  it('gives a point on a border to the cell that begins there, also left of the origin and across blocks', () => {
    const found = measure([
      { x: 1, y: 0 },
      { x: 0.9999, y: 0 },
      { x: 0, y: -0.0001 },
      { x: 40, y: 0 },
    ]);
    expect(rowsOf(found).map((row) => row.slice(1, 4))).toEqual([
      [0, -1, 1],
      [0, 0, 1],
      [1, 0, 1],
      [40, 0, 1],
    ]);
  });

  it('takes single returns or last returns, and neither noise nor withheld points', () => {
    const points: TestPoint[] = [
      { x: 0, y: 0, z: 1 },
      { x: 0, y: 0, z: 2, of: [1, 2] },
      { x: 0, y: 0, z: 3, of: [2, 2] },
      { x: 0, y: 0, z: 4, class: 7 },
      { x: 0, y: 0, z: 5, class: 18 },
      { x: 0, y: 0, z: 6, flags: 4 },
    ];
    expect(rowsOf(measure(points, 'single'))).toEqual([[0, 0, 0, 1, 1, 1, 1]]);
    expect(rowsOf(measure(points, 'last'))).toEqual([[0, 0, 0, 2, 1, 3, 2]]);
  });

  it('gives nothing without points, and the same merged point by point', () => {
    expect(measure([])).toEqual([]);
    const point = fc.record({
      x: fc.integer({ min: -400, max: 400 }).map((v) => v / 10),
      y: fc.integer({ min: -20, max: 20 }).map((v) => v / 10),
      z: fc.integer({ min: -50, max: 50 }).map((v) => v / 10),
      source: fc.integer({ min: 1, max: 2 }),
    });
    fc.assert(
      fc.property(fc.array(point, { maxLength: 20 }), (points) => {
        const params = { cell: 1, returns: 'last' };
        expect(measureMerged(cellHeights, params, [points])).toEqual(measure(points));
        const total = rowsOf(measure(points)).reduce((sum, row) => sum + row[3], 0);
        expect(total).toBe(points.length);
      }),
      { numRuns: 30, seed: 2 },
    );
  });

  it('refuses a sum of heights that is no longer exact: the next whole number after 2^53 - 1 is where exactness ends', () => {
    const state = cellHeights.create({ cell: 1, returns: 'last' });
    const batch = batchOf([{ x: 0, y: 0, z: 0.0001 }]);
    cellHeights.add(state, batch);
    const { sum } = state.grid.blocks[0];
    const slot = sum.findIndex((z) => z !== 0);
    sum[slot] = 2 ** 53 - 2;
    cellHeights.add(state, batch);
    expect(sum[slot]).toBe(2 ** 53 - 1);
    expect(() => cellHeights.add(state, batch)).toThrow(/cell-heights, sum: a cell holds more points/);
  });

  it('refuses heights that do not fit, and states measured with another cell or other returns', () => {
    const state = cellHeights.create({ cell: 1, returns: 'last' });
    const batch = batchOf([{ x: 0, y: 0 }]);
    batch.up[0] = 2 ** 31;
    expect(() => cellHeights.add(state, batch)).toThrow(/higher or lower than 214 km/);
    const other = (params: { cell: number; returns: 'single' | 'last' }) =>
      cellHeights.pack(cellHeights.create(params));
    expect(() => cellHeights.merge(state, other({ cell: 2, returns: 'last' }))).toThrow(RangeError);
    expect(() => cellHeights.merge(state, other({ cell: 1, returns: 'single' }))).toThrow(RangeError);
  });
});

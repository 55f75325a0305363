import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { cellDensity } from '../../src/measure/cell-density.js';
import type { PassCells } from '../../src/measure/pass-cells.js';
import { passCells } from '../../src/measure/pass-cells.js';
import { measureFiles, ORIGIN, type TestPoint } from './point-batches.js';

function densityOf(files: readonly (readonly TestPoint[])[], cell: number) {
  const { measurement, params } = cellDensity.from({ cell });
  expect(measurement).toBe(passCells.id);
  return cellDensity.derive(measureFiles(passCells, params, files) as PassCells, { cell });
}

describe('cell density', () => {
  it('adds up the points of all passes and files in a cell', () => {
    const found = densityOf(
      [
        [
          { x: 0.1, y: 0.1, source: 1 },
          { x: 0.2, y: 0.1, source: 2 },
        ],
        [{ x: 0.9, y: 0.9 }],
      ],
      1,
    );
    expect([...found.points]).toEqual([3]);
    expect([found.column[0], found.row[0]]).toEqual([ORIGIN[0], ORIGIN[1]]);
    expect(found).toMatchObject({ cell: 1, count: 'all' });
  });

  it('is empty without points, and a copy: the counts of the passes stay as they are', () => {
    expect([...densityOf([], 1).points]).toEqual([]);
    const { params } = cellDensity.from({ cell: 1 });
    const cells = measureFiles(passCells, params, [[{ x: 0, y: 0 }]]) as PassCells;
    cellDensity.derive(cells, { cell: 1 }).points[0] = 99;
    expect(cells.points[0]).toBe(1);
  });

  it('agrees with counting one point after the other, on either side of the origin', () => {
    const place = fc.record({
      x: fc.integer({ min: -30, max: 30 }).map((v) => v / 10),
      y: fc.integer({ min: -30, max: 30 }).map((v) => v / 10),
      source: fc.integer({ min: 1, max: 3 }),
      flags: fc.constantFrom(0, 4),
    });
    fc.assert(
      fc.property(fc.array(place, { maxLength: 40 }), (points) => {
        const counted = new Map<string, number>();
        for (const { x, y, flags } of points) {
          if (flags === 4) continue;
          const key = `${Math.floor(x) + ORIGIN[0]} ${Math.floor(y) + ORIGIN[1]}`;
          counted.set(key, (counted.get(key) ?? 0) + 1);
        }
        const { column, row, points: found } = densityOf([points], 1);
        const given = [...found].map((n, i) => [`${column[i]} ${row[i]}`, n] as const);
        expect(new Map(given)).toEqual(counted);
      }),
      { numRuns: 40, seed: 1 },
    );
  });
});

import { inflateSync } from 'node:zlib';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Cells, decodeGrid, encodeGrid } from '../../../src/report/grid-code.js';
import type { LayerHead } from '../../../src/report/html/viewer/payload.js';
import { BLOCK, isBeyond, isWorse, Raster } from '../../../src/report/html/viewer/raster.js';

type Shape = Pick<LayerHead, 'signed' | 'limit' | 'sense'>;

const SIGNED: Shape = { signed: true, limit: 0.03, sense: 'at-most' };

function rasterOf(list: readonly (readonly [number, number, number])[], shape: Shape) {
  const cells: Cells = {
    column: Int32Array.from(list, ([x]) => x),
    row: Int32Array.from(list, ([, y]) => y),
    value: Float64Array.from(list, ([, , v]) => v),
  };
  const grid = encodeGrid({ title: '', unit: 'm', cell: 1, ...shape }, cells);
  const head: LayerHead = { ...grid, owner: '', kind: 'values', element: '' };
  return { grid, raster: new Raster(head, new Uint8Array(inflateSync(Buffer.from(grid.data, 'base64')))) };
}

/** Cells on either side of block borders and of zero, as real grids have them. */
const someCells = fc.uniqueArray(
  fc.tuple(
    fc.oneof(fc.integer({ min: -6, max: 6 }), fc.integer({ min: BLOCK - 4, max: BLOCK + 4 })),
    fc.oneof(fc.integer({ min: -6, max: 6 }), fc.integer({ min: -BLOCK - 4, max: -BLOCK + 4 })),
    fc.integer({ min: -500, max: 500 }).map((q) => q * 1e-4),
  ),
  { selector: ([x, y]) => `${x} ${y}`, minLength: 1, maxLength: 60 },
);

describe('grids in the browser', () => {
  test('hold the same cells as report.json, and no others', () => {
    fc.assert(
      fc.property(someCells, (list) => {
        const { grid, raster } = rasterOf(list, SIGNED);
        const { column, row, value } = decodeGrid(grid);
        value.forEach((v, i) => {
          expect((raster.stepsAt(column[i], row[i]) as number) * grid.step).toBe(v);
        });
        const known = new Set(list.map(([x, y]) => `${x} ${y}`));
        for (let x = -8; x < 8; x++)
          for (let y = -8; y < 8; y++) if (!known.has(`${x} ${y}`)) expect(raster.stepsAt(x, y)).toBeNull();
        expect([...raster.values()].length).toBe(list.length);
      }),
      { seed: 21, numRuns: 100 },
    );
  });

  test.each<[string, Shape]>([
    ['differences about zero', SIGNED],
    ['a least value asked', { signed: false, limit: 0, sense: 'at-least' }],
    ['a largest value asked', { signed: false, limit: 0, sense: 'at-most' }],
  ])('coarser levels show the mean and the worst of their cells: %s', (_, shape) => {
    fc.assert(
      fc.property(someCells, fc.integer({ min: 1, max: 4 }), (list, index) => {
        const { raster } = rasterOf(list, shape);
        const level = raster.level(index);
        const factor = 2 ** index;
        expect(level.factor).toBe(factor);
        const groups = new Map<string, number[]>();
        for (const [x, y, v] of list) {
          const key = `${Math.floor(x / factor)} ${Math.floor(y / factor)}`;
          groups.set(key, [...(groups.get(key) ?? []), v]);
        }
        let pixels = 0;
        for (const { column, row, mean, worst } of level.blocks.values()) {
          mean.forEach((m, k) => {
            if (Number.isNaN(m)) return;
            pixels++;
            const key = `${column * BLOCK + (k % BLOCK)} ${row * BLOCK + Math.floor(k / BLOCK)}`;
            const values = groups.get(key) as number[];
            expect(m).toBeCloseTo(values.reduce((a, b) => a + b, 0) / values.length, 6);
            const far = values.reduce((a, b) => (isWorse(b, a, shape.signed, shape.sense) ? b : a));
            expect(Math.abs(worst[k])).toBeCloseTo(Math.abs(far), 6);
          });
        }
        expect(pixels).toBe(groups.size);
      }),
      { seed: 22, numRuns: 60 },
    );
  });

  test('other figures can be drawn of the stored ones, and cells hidden', () => {
    const { raster } = rasterOf(
      [
        [0, 0, 0.01],
        [1, 0, 0.02],
      ],
      SIGNED,
    );
    raster.level(1);
    raster.drawAs((steps) => (steps === 100 ? Number.NaN : 7));
    expect([...raster.values()]).toEqual([Number.NaN, 7]);
    expect([...(raster.level(0).blocks.values().next().value?.mean ?? [])].filter((v) => !Number.isNaN(v))).toEqual([
      7,
    ]);
  });
});

test('beyond the limit: either side of zero, below a least, above a largest value', () => {
  const head = (shape: Shape) => shape as LayerHead;
  expect([-0.031, -0.03, 0, 0.03, 0.031].map((v) => isBeyond(v, head(SIGNED)))).toEqual([
    true,
    false,
    false,
    false,
    true,
  ]);
  const least = head({ signed: false, limit: 400, sense: 'at-least' });
  expect([399, 400, 401].map((v) => isBeyond(v, least))).toEqual([true, false, false]);
  const largest = head({ signed: false, limit: 1, sense: 'at-most' });
  expect([0.9, 1, 1.1].map((v) => isBeyond(v, largest))).toEqual([false, false, true]);
  expect(isBeyond(9, head({ signed: true, limit: null, sense: null }))).toBe(false);
});

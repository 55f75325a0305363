import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { connectedComponents, connectedComponentsOfBitmap } from '../../src/geometry/components.js';
import { seeded, shuffled } from './seeded.js';

const cells = (list: readonly [number, number][]) =>
  [0, 1].map((k) => Int32Array.from(list, (c) => c[k])) as [Int32Array, Int32Array];

/** Flood fill over a set of cells, group numbers by reading order. */
function flood(list: readonly [number, number][], neighbours: 4 | 8): number[] {
  const label = new Map<string, number>();
  const present = new Set(list.map(([c, r]) => `${c} ${r}`));
  const reading = [...list].sort((a, b) => a[1] - b[1] || a[0] - b[0]);
  let count = 0;
  for (const start of reading) {
    if (label.has(start.join(' '))) continue;
    const open = [start];
    label.set(start.join(' '), count);
    while (open.length > 0) {
      const [c, r] = open.pop()!;
      for (let dc = -1; dc <= 1; dc++) {
        for (let dr = -1; dr <= 1; dr++) {
          if (neighbours === 4 && dc !== 0 && dr !== 0) continue;
          const key = `${c + dc} ${r + dr}`;
          if (!present.has(key) || label.has(key)) continue;
          label.set(key, count);
          open.push([c + dc, r + dr]);
        }
      }
    }
    count++;
  }
  return list.map((c) => label.get(c.join(' '))!);
}

describe('connectedComponents', () => {
  it('corners join with 8 neighbours only', () => {
    const [columns, rows] = cells([
      [0, 0],
      [1, 1],
      [2, 2],
      [2, 3],
    ]);
    expect(connectedComponents(columns, rows, 8)).toMatchObject({ count: 1, sizes: Int32Array.of(4) });
    const four = connectedComponents(columns, rows, 4);
    expect([...four.labels]).toEqual([0, 1, 2, 2]);
    expect([...four.sizes]).toEqual([1, 1, 2]);
  });
  it('a ring that closes last, a spiral', () => {
    const u = cells([
      [0, 2],
      [0, 1],
      [0, 0],
      [4, 2],
      [4, 1],
      [4, 0],
      [1, 2],
      [2, 2],
      [3, 2],
    ]);
    expect(connectedComponents(...u, 4).count).toBe(1);
  });
  it('agrees with flood fill, any order, repeated cells, negative columns', () => {
    const cell = fc.tuple(fc.integer({ min: -6, max: 6 }), fc.integer({ min: -6, max: 6 }));
    fc.assert(
      fc.property(fc.array(cell, { maxLength: 90 }), fc.constantFrom(4 as const, 8 as const), (list, neighbours) => {
        const found = connectedComponents(...cells(list), neighbours);
        const expected = flood(list, neighbours);
        expect([...found.labels]).toEqual(expected);
        expect(found.count).toBe(new Set(expected).size);
        const different = [...new Set(list.map((c) => c.join(' ')))];
        expect(found.sizes.reduce((a, b) => a + b, 0)).toBe(different.length);
      }),
      { seed: 121, numRuns: 500 },
    );
  });
  it('far apart in a world-anchored grid, 180 000 cells, sorted or not', () => {
    const list: [number, number][] = [];
    for (let row = 0; row < 200; row++) {
      for (let column = 0; column < 1000; column++)
        if (column % 10 !== 9) list.push([1_740_000 + column, 20_720_000 + row]);
    }
    for (const order of [list, shuffled(list, seeded(3))]) {
      const found = connectedComponents(...cells(order), 8);
      expect(found.count).toBe(100);
      expect(new Set(found.sizes)).toEqual(new Set([1800]));
    }
  });
  it('none, and arrays that do not match', () => {
    expect(connectedComponents(new Int32Array(0), new Int32Array(0))).toMatchObject({ count: 0 });
    expect(() => connectedComponents(new Int32Array(1), new Int32Array(2))).toThrow(RangeError);
  });
});

describe('connectedComponentsOfBitmap', () => {
  it('labels the map, 0 where there is no cell', () => {
    const found = connectedComponentsOfBitmap(Uint8Array.of(1, 1, 0, 0, 0, 0, 0, 1, 0, 1, 0, 1), 4, 4);
    expect([...found.labels]).toEqual([1, 1, 0, 0, 0, 0, 0, 2, 0, 3, 0, 2]);
    expect([...found.sizes]).toEqual([2, 2, 1]);
  });
  it('a row end does not touch the next row', () => {
    expect(connectedComponentsOfBitmap(Uint8Array.of(0, 0, 1, 1, 0, 0), 3, 4).count).toBe(2);
    expect(() => connectedComponentsOfBitmap(new Uint8Array(5), 3)).toThrow(RangeError);
  });
});

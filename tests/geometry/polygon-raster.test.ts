import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { joinRuns, subtractRuns } from '../../src/geometry/column-runs.js';
import { type Polygon, pointInPolygons, polygonArea } from '../../src/geometry/polygon.js';
import { cellsInside, rasterisePolygons } from '../../src/geometry/polygon-raster.js';
import { seeded } from './seeded.js';

const ring = (...xy: number[]) => Float64Array.from(xy);
const box = (x0: number, y0: number, x1: number, y1: number) => ring(x0, y0, x1, y0, x1, y1, x0, y1, x0, y0);
const plain = (outer: Float64Array): Polygon => ({ outer, holes: [] });

/** Whether the open segment passes through the inside of the unit cell at (c, r): Liang-Barsky clipping, plain numbers. */
function passesThrough(c: number, r: number, x0: number, y0: number, x1: number, y1: number): boolean {
  const eps = 1e-9;
  let [t0, t1] = [0, 1];
  const sides = [
    [x1 - x0, c, c + 1, x0],
    [y1 - y0, r, r + 1, y0],
  ];
  for (const [d, low, high, start] of sides) {
    if (d === 0) {
      if (start <= low + eps || start >= high - eps) return false;
      continue;
    }
    const [a, b] = [(low - start) / d, (high - start) / d];
    t0 = Math.max(t0, Math.min(a, b));
    t1 = Math.min(t1, Math.max(a, b));
  }
  return t1 - t0 > eps || (x0 === x1 && y0 === y1 && t1 >= t0);
}

/** Every cell looked at by itself. */
function bruteForce(polygons: readonly Polygon[], column: number, row: number): 'inside' | 'partial' | 'outside' {
  let cut = false;
  for (const polygon of polygons) {
    let own = false;
    for (const r of [polygon.outer, ...polygon.holes]) {
      for (let i = 0; i < r.length; i += 2) {
        const j = (i + 2) % r.length;
        if (passesThrough(column, row, r[i], r[i + 1], r[j], r[j + 1])) own = true;
      }
    }
    if (!own && pointInPolygons(column + 0.5, row + 0.5, [polygon])) return 'inside';
    cut ||= own;
  }
  return cut ? 'partial' : 'outside';
}

function expectSame(polygons: readonly Polygon[], reach: number): void {
  const raster = rasterisePolygons(polygons, 1);
  const differences: string[] = [];
  let inside = 0;
  let partial = 0;
  for (let row = -reach; row < reach; row++) {
    for (let column = -reach; column < reach; column++) {
      const state = bruteForce(polygons, column, row);
      const found = raster.stateOf(column, row);
      if (found !== state) differences.push(`cell ${column}, ${row}: ${found}, should be ${state}`);
      if (state === 'inside') inside++;
      if (state === 'partial') partial++;
    }
  }
  expect(differences).toEqual([]);
  expect(raster.insideCount).toBe(inside);
  expect(raster.partialCount).toBe(partial);
}

describe('rasterisePolygons against looking at every cell', () => {
  // Whole, quarter and free coordinates: edges along cell borders, through corners, and anywhere.
  const coordinate = fc.oneof(
    fc.integer({ min: -9, max: 9 }),
    fc.integer({ min: -36, max: 36 }).map((v) => v / 4),
    fc.integer({ min: -90_000, max: 90_000 }).map((v) => v / 10_000 + 0.000_03),
  );
  const anyRing = fc
    .array(fc.tuple(coordinate, coordinate), { minLength: 3, maxLength: 8 })
    .map((p) => ring(...p.flat()));

  it('single rings, also crossing themselves', () => {
    fc.assert(
      fc.property(anyRing, (outer) => expectSame([plain(outer)], 11)),
      { seed: 101, numRuns: 300 },
    );
  });
  it('several polygons with holes, overlapping and touching', () => {
    const polygon = fc.record({ outer: anyRing, holes: fc.array(anyRing, { maxLength: 2 }) });
    fc.assert(
      fc.property(fc.array(polygon, { minLength: 1, maxLength: 3 }), (polygons) => expectSame(polygons, 11)),
      { seed: 102, numRuns: 200 },
    );
  });
});

describe('rasterisePolygons', () => {
  it('a zone that ends on cell borders is filled completely, decimal cells included', () => {
    for (const cell of [0.1, 0.25, 0.5, 1, 0.3]) {
      const raster = rasterisePolygons([plain(box(-7 * cell, 12 * cell, 13 * cell, 30 * cell))], cell);
      expect(raster).toMatchObject({
        minColumn: -7,
        minRow: 12,
        columns: 20,
        rows: 18,
        insideCount: 360,
        partialCount: 0,
      });
      expect([...raster.runs(12)]).toEqual([-7, 13]);
      expect([...raster.runs(11)]).toEqual([]);
      expect([...raster.runs(30)]).toEqual([]);
    }
    // Written in decimals, as a survey would: 12.3 / 0.1 is 122.99999999999999 in binary.
    expect(rasterisePolygons([plain(box(12.3, 4.7, 12.9, 5.3))], 0.1).insideCount).toBe(36);
  });
  it('a zone that ends within cells leaves a partial seam', () => {
    const raster = rasterisePolygons([plain(box(0.5, 0.5, 4.5, 3.5))], 1);
    expect(raster.insideCount).toBe(3 * 2);
    expect(raster.partialCount).toBe(5 * 4 - 6);
    expect([...raster.partialRuns(1)]).toEqual([0, 1, 4, 5]);
    expect(raster.stateOf(0, 0)).toBe('partial');
    expect(raster.stateOf(1, 1)).toBe('inside');
    expect(raster.stateOf(5, 1)).toBe('outside');
  });
  it('a zone within one cell, and none', () => {
    expect(rasterisePolygons([plain(box(0.2, 0.2, 0.4, 0.4))], 1)).toMatchObject({ insideCount: 0, partialCount: 1 });
    expect(rasterisePolygons([], 1)).toMatchObject({ rows: 0, columns: 0, insideCount: 0 });
    expect(rasterisePolygons([plain(ring())], 1)).toMatchObject({ rows: 0, insideCount: 0 });
  });
  it('cells of a hole are out, two polygons side by side share no seam of inside cells twice', () => {
    const raster = rasterisePolygons(
      [{ outer: box(0, 0, 10, 10), holes: [box(4, 4, 6, 6)] }, plain(box(10, 0, 20, 10)), plain(box(5, 8, 15, 10))],
      1,
    );
    expect(raster.insideCount).toBe(200 - 4);
    expect([...raster.runs(5)]).toEqual([0, 4, 6, 20]);
    expect(raster.partialCount).toBe(0);
  });
  it('visits the inside cells in order, each once', () => {
    const seen: string[] = [];
    cellsInside([plain(ring(0, 0, 4, 0, 4, 4))], 1, (column, row) => seen.push(`${column} ${row}`));
    expect(seen).toEqual(['1 0', '2 0', '3 0', '2 1', '3 1', '3 2']);
  });
  it('moving the zone by whole cells moves the cells', () => {
    const shape = [1.3, 0.2, 9.1, 3.7, 8.8, 9.9, 2.2, 7.5];
    const here = rasterisePolygons([plain(ring(...shape))], 0.25);
    const there = rasterisePolygons(
      [plain(ring(...shape.map((v, i) => v + (i % 2 === 0 ? 435_000 : 5_180_000))))],
      0.25,
    );
    expect(there.insideCount).toBe(here.insideCount);
    expect([...there.runs(4 * 5_180_000 + 20)]).toEqual([...here.runs(20)].map((c) => c + 4 * 435_000));
  });
  it('a curving road of 10 km in cells of 0.25 m: area agrees, memory and time follow the outline', () => {
    const random = seeded(111);
    const left: number[] = [];
    const right: number[] = [];
    for (let s = 0; s <= 10_000; s += 10) {
      const y = 300 * Math.sin(s / 900) + random.uniform() * 0.1;
      left.push(435_000 + s, 5_180_000 + y + 3.5);
      right.unshift(435_000 + s, 5_180_000 + y - 3.5);
    }
    const road = plain(ring(...left, ...right));
    const start = performance.now();
    const raster = rasterisePolygons([road], 0.25);
    expect(performance.now() - start).toBeLessThan(3000);
    const inside = raster.insideCount / 16;
    const both = inside + raster.partialCount / 16;
    const area = polygonArea(road);
    expect(inside).toBeLessThan(area);
    expect(both).toBeGreaterThan(area);
    // Cells along both sides: 20 km of edge at 0.25 m, one to two cells wide.
    expect(raster.partialCount).toBeGreaterThan(80_000);
    expect(raster.partialCount).toBeLessThan(170_000);
    let numbers = 0;
    for (let row = raster.minRow; row < raster.minRow + raster.rows; row++) numbers += raster.runs(row).length;
    expect(numbers).toBeLessThan(200_000);
  });
  it('refuses what is undefined or far too large', () => {
    expect(() => rasterisePolygons([], 0)).toThrow(RangeError);
    expect(() => rasterisePolygons([plain(ring(0, 0, 1, Number.NaN, 1, 1))], 1)).toThrow(RangeError);
    expect(() => rasterisePolygons([plain(box(0, 0, 1e12, 1))], 1)).toThrow(RangeError);
    expect(() => rasterisePolygons([plain(box(0, 0, 1, 2e9))], 1)).toThrow(RangeError);
  });
});

describe('runs', () => {
  const runs = fc.array(
    fc.tuple(fc.integer({ min: 0, max: 40 }), fc.integer({ min: 0, max: 8 })).map(([b, n]) => [b, b + n] as const),
    { maxLength: 8 },
  );
  const cells = (list: readonly (readonly [number, number])[]) => {
    const set = new Set<number>();
    for (const [begin, end] of list) for (let c = begin; c < end; c++) set.add(c);
    return set;
  };
  it('union and difference are those of the sets of cells', () => {
    fc.assert(
      fc.property(runs, runs, (a, b) => {
        const [joined, others] = [joinRuns(a), joinRuns(b)];
        expect(cells(joined)).toEqual(cells(a));
        for (let i = 1; i < joined.length; i++) expect(joined[i][0]).toBeGreaterThan(joined[i - 1][1]);
        const rest = subtractRuns(joined, others);
        const expected = new Set([...cells(a)].filter((c) => !cells(b).has(c)));
        expect(cells(rest)).toEqual(expected);
        expect(rest.every(([begin, end]) => end > begin)).toBe(true);
      }),
      { seed: 112 },
    );
  });
});

import { describe, expect, it } from 'vitest';
import { voids } from '../../src/checks/voids.js';
import type { DensityGrid } from '../../src/measure/density-grid.js';
import { judge, squareZone } from './judge.js';

function grid(
  width: number,
  height: number,
  empty: (x: number, y: number) => boolean,
  cell = 0.5,
  points = 300,
): DensityGrid {
  const cells = [];
  for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) if (!empty(x, y)) cells.push([x, y]);
  return {
    cell,
    count: 'all',
    column: Int32Array.from(cells, (c) => c[0]),
    row: Int32Array.from(cells, (c) => c[1]),
    points: new Uint32Array(cells.length).fill(points),
  };
}

describe('voids', () => {
  it('measures the area of a hole in the data', () => {
    const hole = (x: number, y: number) => x >= 10 && x < 16 && y >= 10 && y < 15;
    const verdict = judge(voids, { maxArea: 1 }, { grid: grid(40, 40, hole) });
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.largestArea).toEqual({ value: 6 * 5 * 0.25, unit: 'm2' });
    expect(verdict.measured.count.value).toBe(1);
    const [places] = verdict.evidence.filter((e) => e.kind === 'locations');
    expect(places.items[0]).toMatchObject({ x: 6.5, y: 6.25, note: 'void, 3.0 m by 2.5 m' });
  });

  it('accepts a hole of exactly the limit', () => {
    const verdict = judge(
      voids,
      { maxArea: 7.5 },
      { grid: grid(40, 40, (x, y) => x >= 10 && x < 16 && y >= 10 && y < 15) },
    );
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.count.value).toBe(0);
    expect(verdict.measured.largestArea.value).toBe(7.5);
  });

  it('does not decide where the points are too sparse to resolve the area', () => {
    const hole = (x: number, y: number) => x >= 10 && x < 13 && y >= 10 && y < 13;
    const sparse = judge(voids, { maxArea: 2.6, cell: 0.5 }, { grid: grid(40, 40, hole, 0.5, 3) });
    expect(sparse.state).toBe('undetermined');
    expect(sparse.summary).toMatch(/largest void is 2\.25 m[2²] ± .*limit is 2\.60 m[2²]/);
    expect(judge(voids, { maxArea: 2.6, cell: 0.5 }, { grid: grid(40, 40, hole, 0.5, 300) }).state).toBe('pass');
  });

  it('does not pass where a void of the limit need not empty a whole cell', () => {
    expect(judge(voids, { maxArea: 0.9, cell: 0.5 }, { grid: grid(40, 40, () => false) }).state).toBe('undetermined');
    expect(judge(voids, { maxArea: 1, cell: 0.5 }, { grid: grid(40, 40, () => false) }).state).toBe('pass');
  });

  it('joins cells until they hold four points, where the spec names no cell', () => {
    // 3 points in every other cell of 0.25 m are 6 in cells of 0.5 m.
    const odd = grid(80, 80, (x, y) => (x + y) % 2 === 1, 0.25, 3);
    expect(judge(voids, { maxArea: 2 }, { grid: odd })).toMatchObject({
      state: 'pass',
      measured: { count: { value: 0 } },
    });
    // Cells of 0.5 m cannot show a void of 1 m2 at every angle.
    expect(judge(voids, { maxArea: 1 }, { grid: odd }).state).toBe('undetermined');
  });

  it('does not call the world around the data a void, but a bay with a narrow mouth is one', () => {
    expect(
      judge(voids, { maxArea: 1 }, { grid: grid(40, 40, (x, y) => x > 30 && y > 30) }).measured.largestArea.value,
    ).toBe(0);
    // A hole of 10 x 10 cells open to the outside through a gap of two cells.
    const bay = (x: number, y: number) => (x >= 10 && x < 20 && y >= 10 && y < 20) || (x >= 20 && y >= 14 && y < 16);
    expect(judge(voids, { maxArea: 1 }, { grid: grid(40, 40, bay) }).measured.largestArea.value).toBeGreaterThanOrEqual(
      25,
    );
  });

  it('finds a hole larger than a block of the outline map', () => {
    const hole = (x: number, y: number) => x >= 20 && x < 280 && y >= 20 && y < 280;
    expect(judge(voids, { maxArea: 1 }, { grid: grid(300, 300, hole) }).measured.largestArea.value).toBe(
      260 * 260 * 0.25,
    );
  });

  it('in a zone an area that was never covered is a void', () => {
    const zones = [squareZone('road', 0, 0, 30, 5)];
    const verdict = judge(voids, { maxArea: 1, zone: 'road' }, { grid: grid(40, 10, () => false) }, { zones });
    expect(verdict.measured.largestArea.value).toBe(10 * 5);
  });

  it('counts gaps that touch at a corner as one', () => {
    const hole = (x: number, y: number) =>
      (x >= 10 && x < 12 && y >= 10 && y < 12) || (x >= 12 && x < 14 && y >= 12 && y < 14);
    expect(judge(voids, { maxArea: 0.1 }, { grid: grid(40, 40, hole) }).measured.count.value).toBe(1);
  });

  it('names the largest of several voids, wherever it lies, and adds up those above the limit', () => {
    // From the south: 4, 6.25, 2.25 and 1 square metres; the last one is within the limit.
    const holes = [
      [5, 3, 4],
      [20, 12, 5],
      [8, 22, 3],
      [25, 30, 2],
    ];
    const hole = (x: number, y: number) =>
      holes.some(([x0, y0, side]) => x >= x0 && x < x0 + side && y >= y0 && y < y0 + side);
    const verdict = judge(voids, { maxArea: 1 }, { grid: grid(40, 40, hole) });
    expect(verdict.measured.largestArea.value).toBe(6.25);
    expect(verdict.measured.totalArea.value).toBe(4 + 6.25 + 2.25);
    expect(verdict.measured.count.value).toBe(3);
    expect(verdict.summary).toContain('the largest void is 6.25 m');
    const [places] = verdict.evidence.filter((e) => e.kind === 'locations');
    expect(places.items.map(({ value }) => value)).toEqual([6.25, 4, 2.25]);
  });

  it('a stray point far away costs nothing and encloses nothing', () => {
    const near = grid(40, 40, () => false);
    const stray = {
      ...near,
      column: Int32Array.from([...near.column, 370_000]),
      row: Int32Array.from([...near.row, 370_000]),
      points: Uint32Array.from([...near.points, 1]),
    };
    expect(judge(voids, { maxArea: 1 }, { grid: stray }).measured.largestArea.value).toBe(0);
  });

  it('is undetermined without a complete cell', () => {
    expect(judge(voids, { maxArea: 1 }, { grid: grid(0, 0, () => false) }).state).toBe('undetermined');
  });
});

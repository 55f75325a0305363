import { describe, expect, it } from 'vitest';
import { type CountedCells, findVoidAreas } from '../../src/geometry/void-areas.js';
import { type Seeded, seeded } from './seeded.js';

/** Counts of points in cells of a square of `side` metres; points fall at random, or in scan lines, and none where `isVoid` says so. */
function cellsOf(
  side: number,
  cell: number,
  perSquareMetre: number,
  random: Seeded,
  isVoid: (x: number, y: number) => boolean,
  pattern: 'random' | 'lines',
): CountedCells {
  const n = Math.round(side / cell);
  const counts = new Float64Array(n * n);
  const add = (x: number, y: number) => {
    if (x >= 0 && x < side && y >= 0 && y < side && !isVoid(x, y))
      counts[Math.floor(y / cell) * n + Math.floor(x / cell)]++;
  };
  const total = side * side * perSquareMetre;
  if (pattern === 'random') for (let i = 0; i < total; i++) add(random.uniform() * side, random.uniform() * side);
  else {
    // Lines twice as far apart as their points, at an angle to the grid.
    const step = Math.sqrt(1 / (2 * perSquareMetre));
    const [c, s] = [Math.cos(0.4), Math.sin(0.4)];
    for (let u = -side; u < 2 * side; u += 2 * step)
      for (let v = -side; v < 2 * side; v += step) {
        const w = v + (random.uniform() - 0.5) * step;
        add(u * c - w * s, u * s + w * c);
      }
  }
  const kept = [...counts.keys()];
  return {
    column: Int32Array.from(kept, (i) => i % n),
    row: Int32Array.from(kept, (i) => Math.floor(i / n)),
    points: counts,
  };
}

describe('areas of voids', () => {
  // The planted area is the measure: rectangles at random places and angles. No published figure is needed.
  it.each([
    [0.5, 0.1, 800],
    [1.44, 0.25, 800],
    [4, 0.25, 800],
    [24, 0.5, 400],
    [100, 0.5, 100],
  ])('%d m2 in cells of %d m at %d points per m2', (area, cell, density) => {
    const random = seeded(7);
    const side = Math.ceil(2.5 * Math.sqrt(area) + 4);
    for (const pattern of ['random', 'lines'] as const) {
      const runs = 30;
      let within = 0;
      let sum = 0;
      let withinTwoStd = 0;
      for (let run = 0; run < runs; run++) {
        const ratio = 1 + random.uniform() * 0.6;
        const [w, h] = [Math.sqrt(area * ratio), Math.sqrt(area / ratio)];
        const [mx, my] = [side / 2 + random.uniform(), side / 2 + random.uniform()];
        const angle = random.uniform() * Math.PI;
        const [c, s] = [Math.cos(angle), Math.sin(angle)];
        const isVoid = (x: number, y: number) =>
          Math.abs((x - mx) * c + (y - my) * s) < w / 2 && Math.abs((y - my) * c - (x - mx) * s) < h / 2;
        const [found] = findVoidAreas(cellsOf(side, cell, density, random, isVoid, pattern)).voids;
        const error = found.area * cell * cell - area;
        sum += error;
        if (Math.abs(error) < Math.max(0.05 * area, 0.1)) within++;
        if (Math.abs(error) < 2 * found.areaStd * cell * cell) withinTwoStd++;
      }
      // Within 5 % or 0.1 m2, without a bias, and with a standard deviation that is not too small.
      expect(within, pattern).toBeGreaterThanOrEqual(0.9 * runs);
      expect(Math.abs(sum / runs), pattern).toBeLessThan(Math.max(0.01 * area, 0.03));
      expect(withinTwoStd, pattern).toBeGreaterThanOrEqual(0.85 * runs);
    }
  });

  it('even counts give the exact area, and voids that touch at a corner are one', () => {
    const [column, row, points] = [[], [], []] as [number[], number[], number[]];
    for (let y = -5; y < 8; y++)
      for (let x = -5; x < 8; x++) {
        column.push(x);
        row.push(y);
        points.push((x === 0 && y === 0) || (x === 1 && y === 1) ? 0 : 40);
      }
    const result = findVoidAreas({
      column: Int32Array.from(column),
      row: Int32Array.from(row),
      points: Float64Array.from(points),
    });
    expect(result.voids).toHaveLength(1);
    expect(result.voids[0]).toMatchObject({
      area: 2,
      cells: 2,
      x: 1,
      y: 1,
      minColumn: 0,
      endColumn: 2,
      width: 2,
      height: 2,
    });
    expect([...result.column]).toEqual([0, 1]);
  });

  it('no empty cell, no void', () => {
    const one = { column: Int32Array.of(3), row: Int32Array.of(4), points: Float64Array.of(9) };
    expect(findVoidAreas(one).voids).toEqual([]);
  });
});

import { describe, expect, it } from 'vitest';
import { density } from '../../src/checks/density.js';
import type { DensityGrid } from '../../src/measure/density-grid.js';
import { judge, squareZone } from './judge.js';

/** A full grid of `width` x `height` cells; `points` by column and row. */
function gridOf(width: number, height: number, points: (x: number, y: number) => number, cell = 1): DensityGrid {
  const cells = [];
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) if (points(x, y) > 0) cells.push([x, y, points(x, y)]);
  return {
    cell,
    count: 'all',
    column: Int32Array.from(cells, (c) => c[0]),
    row: Int32Array.from(cells, (c) => c[1]),
    points: Uint32Array.from(cells, (c) => c[2]),
  };
}

describe('density', () => {
  it('passes when the share of complete cells is reached, and counts only complete cells', () => {
    const verdict = judge(density, { min: 100 }, { grid: gridOf(10, 10, () => 100) });
    expect(verdict.state).toBe('pass');
    // The rim of 36 cells is left out: the data end somewhere inside it.
    expect(verdict.measured.cells.value).toBe(64);
    expect(verdict.measured.share.value).toBe(1);
    expect(verdict.measured.mean).toEqual({ value: 100, unit: 'points/m2' });
  });

  it('divides by the area of the cell', () => {
    const verdict = judge(density, { min: 100, cell: 0.5 }, { grid: gridOf(10, 10, () => 25, 0.5) });
    expect(verdict.measured.median.value).toBe(100);
    expect(verdict.state).toBe('pass');
  });

  it('fails when too few cells reach the density, and says where', () => {
    const verdict = judge(density, { min: 100, share: 0.9 }, { grid: gridOf(10, 10, (x) => (x < 5 ? 100 : 40)) });
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.share.value).toBe(0.5);
    const [places] = verdict.evidence.filter((e) => e.kind === 'locations');
    expect(places.items[0]).toMatchObject({ x: 7, y: 5, value: 40 });
  });

  it('counts empty cells inside the data as empty, not as absent', () => {
    const verdict = judge(
      density,
      { min: 1 },
      { grid: gridOf(10, 10, (x, y) => (x > 3 && x < 6 && y > 3 && y < 6 ? 0 : 5)) },
    );
    expect(verdict.measured.cells.value).toBe(64);
    expect(verdict.measured.share.value).toBeCloseTo(60 / 64, 12);
  });

  it('in a zone judges the cells wholly inside it, empty ones included', () => {
    const zones = [squareZone('road', 0.5, 0.5, 20, 10)];
    const verdict = judge(density, { min: 5, zone: 'road' }, { grid: gridOf(10, 10, () => 5) }, { zones });
    // Columns 1 to 19, rows 1 to 9 lie wholly inside; columns 10 to 19 are empty.
    expect(verdict.measured.cells.value).toBe(19 * 9);
    expect(verdict.measured.share.value).toBeCloseTo(9 / 19, 12);
  });

  it('says undetermined when there is no complete cell', () => {
    expect(judge(density, { min: 5 }, { grid: gridOf(2, 2, () => 5) }).state).toBe('undetermined');
    expect(judge(density, { min: 5 }, { grid: gridOf(0, 0, () => 0) }).state).toBe('undetermined');
  });

  it('names which density it is', () => {
    expect(judge(density, { min: 5, count: 'first' }, { grid: gridOf(10, 10, () => 5) }).summary).toContain(
      'pulse density',
    );
    expect(judge(density, { min: 5 }, { grid: gridOf(10, 10, () => 5) }).summary).toContain('point density');
  });
});

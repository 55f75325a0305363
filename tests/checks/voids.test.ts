import { describe, expect, it } from 'vitest';
import { voids } from '../../src/checks/voids.js';
import type { DensityGrid } from '../../src/measure/density-grid.js';
import { judge, squareZone } from './judge.js';

function grid(width: number, height: number, empty: (x: number, y: number) => boolean, cell = 0.5): DensityGrid {
  const cells = [];
  for (let y = 0; y < height; y++) for (let x = 0; x < width; x++) if (!empty(x, y)) cells.push([x, y]);
  return {
    cell,
    count: 'all',
    column: Int32Array.from(cells, (c) => c[0]),
    row: Int32Array.from(cells, (c) => c[1]),
    points: new Uint32Array(cells.length).fill(3),
  };
}

describe('voids', () => {
  it('measures the area of a hole in the data', () => {
    const hole = (x: number, y: number) => x >= 10 && x < 16 && y >= 10 && y < 15;
    const verdict = judge(voids, { maxArea: 1 }, [grid(40, 40, hole)]);
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.largestArea).toEqual({ value: 6 * 5 * 0.25, unit: 'm2' });
    expect(verdict.measured.count.value).toBe(1);
    const [places] = verdict.evidence.filter((e) => e.kind === 'locations');
    expect(places.items[0]).toMatchObject({ x: 6.5, y: 6.25, note: '3.0 m by 2.5 m without a point' });
  });

  it('accepts a hole of exactly the limit', () => {
    const verdict = judge(voids, { maxArea: 7.5 }, [grid(40, 40, (x, y) => x >= 10 && x < 16 && y >= 10 && y < 15)]);
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.count.value).toBe(0);
    expect(verdict.measured.largestArea.value).toBe(7.5);
  });

  it('does not call the world around the data a void, but a bay with a narrow mouth is one', () => {
    expect(judge(voids, { maxArea: 1 }, [grid(40, 40, (x, y) => x > 30 && y > 30)]).measured.largestArea.value).toBe(0);
    // A hole of 10 x 10 cells open to the outside through a gap of two cells.
    const bay = (x: number, y: number) => (x >= 10 && x < 20 && y >= 10 && y < 20) || (x >= 20 && y >= 14 && y < 16);
    expect(judge(voids, { maxArea: 1 }, [grid(40, 40, bay)]).measured.largestArea.value).toBeGreaterThanOrEqual(25);
  });

  it('finds a hole larger than a block of the outline map', () => {
    const hole = (x: number, y: number) => x >= 20 && x < 280 && y >= 20 && y < 280;
    expect(judge(voids, { maxArea: 1 }, [grid(300, 300, hole)]).measured.largestArea.value).toBe(260 * 260 * 0.25);
  });

  it('in a zone an area that was never covered is a void', () => {
    const zones = [squareZone('road', 0, 0, 30, 5)];
    const verdict = judge(voids, { maxArea: 1, zone: 'road' }, [grid(40, 10, () => false)], { zones });
    expect(verdict.measured.largestArea.value).toBe(10 * 5);
  });

  it('counts gaps that touch at a corner as one', () => {
    const hole = (x: number, y: number) =>
      (x >= 10 && x < 12 && y >= 10 && y < 12) || (x >= 12 && x < 14 && y >= 12 && y < 14);
    expect(judge(voids, { maxArea: 0.1 }, [grid(40, 40, hole)]).measured.count.value).toBe(1);
  });

  it('a stray point far away costs nothing and encloses nothing', () => {
    const near = grid(40, 40, () => false);
    const stray = {
      ...near,
      column: Int32Array.from([...near.column, 370_000]),
      row: Int32Array.from([...near.row, 370_000]),
      points: Uint32Array.from([...near.points, 1]),
    };
    expect(judge(voids, { maxArea: 1 }, [stray]).measured.largestArea.value).toBe(0);
  });

  it('is undetermined without a complete cell', () => {
    expect(judge(voids, { maxArea: 1 }, [grid(0, 0, () => false)]).state).toBe('undetermined');
  });
});

import { describe, expect, it } from 'vitest';
import { cutVoid, densityTruth, insideRing, thinToDensity } from '../../src/simulate/scene/areas.js';
import { changeUnit } from '../../src/simulate/scene/delivery-faults.js';
import { writeLas } from '../../src/simulate/writer/las-writer.js';
import { STATE_PLANE_FOOT_US, US_SURVEY_FOOT } from '../../src/simulate/writer/reference-systems.js';
import { densityPatch } from '../../test-clouds/scene/density-patch.js';
import { decodeLas, decodePoint } from './las-decoder.js';

const origin = [561_000, 5_932_000] as const;

/** Counts by cell from the raw integers of a written file: independent of floating point. */
function countRaw(bytes: Uint8Array, cellMillimetres: number): Map<string, number> {
  const las = decodeLas(bytes);
  const counts = new Map<string, number>();
  for (let i = 0; i < las.count; i++) {
    const [x, y] = decodePoint(las, i).raw;
    const key = `${Math.floor(x / cellMillimetres)} ${Math.floor(y / cellMillimetres)}`;
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  return counts;
}

function write(points: ReturnType<typeof densityPatch>): Uint8Array {
  const offset = [origin[0], origin[1], 0] as const;
  return writeLas({ version: [1, 4], format: 6, scale: [0.001, 0.001, 0.001], offset, crs: null, points });
}

describe('the density patch', () => {
  it('has exactly the points asked for in every cell, in all passes together', () => {
    const points = densityPatch({ origin, columns: 12, rows: 7, cell: 1, perCell: 130, passes: 3, seed: 4 });
    const counts = countRaw(write(points), 1000);
    expect(counts.size).toBe(84);
    expect([...counts.values()].every((n) => n === 390)).toBe(true);
  });

  it('takes a count by cell', () => {
    const perCell = (column: number, row: number) => (column + row) % 5;
    const points = densityPatch({ origin, columns: 10, rows: 10, cell: 0.5, perCell, seed: 4 });
    const counts = countRaw(write(points), 500);
    for (let column = 0; column < 10; column++) {
      for (let row = 0; row < 10; row++) {
        expect(counts.get(`${column} ${row}`) ?? 0).toBe((column + row) % 5);
      }
    }
  });
});

describe('areas', () => {
  const patch = densityPatch({ origin, columns: 10, rows: 10, cell: 1, perCell: 50, seed: 8 });

  it('thins to the exact density inside and touches nothing outside', () => {
    const thinned = thinToDensity(patch, [561_000, 5_932_000, 561_004, 5_932_010], 1, 20, 3);
    expect(thinned.count).toBe(40 * 20 + 60 * 50);
    for (const [key, count] of countRaw(write(thinned), 1000)) {
      expect(count).toBe(Number(key.split(' ')[0]) < 4 ? 20 : 50);
    }
  });

  it('cuts a hole and counts the cells below a limit', () => {
    const holed = cutVoid(patch, [561_002, 5_932_003, 561_005, 5_932_005.5]);
    const square = [
      [561_000, 5_932_000],
      [561_010, 5_932_000],
      [561_010, 5_932_010],
      [561_000, 5_932_010],
    ] as const;
    const truth = densityTruth(holed, square, 1, 40);
    // 3 x 2 whole cells are empty and 3 more have lost about half of their 50 points.
    expect([truth.cells, truth.empty, truth.below]).toEqual([100, 6, 9]);
    expect(truth.share).toBeCloseTo(0.91, 12);
    expect(truth.mean).toBeCloseTo(holed.count / 100, 12);
  });

  it('knows inside from outside of a convex ring', () => {
    const triangle = [
      [0, 0],
      [4, 0],
      [0, 3],
    ] as const;
    expect(insideRing(triangle, 1, 1)).toBe(true);
    expect(insideRing(triangle, 3, 2)).toBe(false);
    // The inscribed circle of a 3-4-5 triangle has radius 1 about (1, 1).
    expect(insideRing(triangle, 1, 1, 0.999)).toBe(true);
    expect(insideRing(triangle, 1, 1, 1.001)).toBe(false);
  });
});

describe('units', () => {
  it('writes feet that read back as the same metres', () => {
    const points = densityPatch({ origin, columns: 2, rows: 2, cell: 1, perCell: 30, seed: 1 });
    const metres = points.x.slice();
    changeUnit(points, US_SURVEY_FOOT, US_SURVEY_FOOT);
    const las = decodeLas(
      writeLas({
        version: [1, 4],
        format: 6,
        scale: [0.0001, 0.0001, 0.0001],
        offset: [1_840_000, 19_460_000, 0],
        crs: { as: 'wkt', horizontal: STATE_PLANE_FOOT_US, vertical: null },
        points,
      }),
    );
    for (let i = 0; i < las.count; i++) {
      // 39.37 inches a metre, 12 a foot: 3937/1200 feet.
      expect(Math.abs((decodePoint(las, i).x * 1200) / 3937 - metres[i])).toBeLessThan(2e-5);
    }
  });
});

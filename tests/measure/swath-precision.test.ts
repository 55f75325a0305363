import { describe, expect, it } from 'vitest';
import { swathPrecision } from '../../src/measure/swath-precision.js';
import { heightsOf, nineCells } from './heights-by-hand.js';

const params = { cell: 2, minPoints: 3 };

// Formula of the USGS Lidar Base Specification 2025 rev. A: Precision = Range - Slope * CellSize * 1.414.
describe('precision within a swath', () => {
  it('of level ground is the range of the cell; only the cell with all eight neighbours counts', () => {
    const [found] = swathPrecision.derive(
      [
        heightsOf(
          4,
          nineCells(() => 7),
        ),
      ],
      params,
    );
    expect(found.pass).toBe(4);
    expect([...found.x, ...found.y]).toEqual([1, 1]);
    expect(found.z[0]).toBeCloseTo(7.01, 12);
    expect([...found.precision]).toHaveLength(1);
    expect(found.precision[0]).toBeCloseTo(0.02, 12);
  });

  it.each([
    ['along a row, 0.01 a metre', (c: number) => 0.02 * c, 0.01],
    ['along a column, falling', (_: number, r: number) => -0.02 * r, 0.01],
    ['steepest to a corner: 0.04 over 2.828 m', (c: number, r: number) => 0.02 * (c + r), 0.04 / (2 * Math.SQRT2)],
  ])('takes the steepest slope off: %s', (_, height, slope) => {
    const [found] = swathPrecision.derive([heightsOf(1, nineCells(height))], params);
    // biome-ignore lint/suspicious/noApproximativeNumericConstant: the printed factor of the specification
    expect(found.precision[0]).toBeCloseTo(0.02 - slope * 2 * 1.414, 12);
  });

  it('cells steeper than 10 degrees, with too few points or without a neighbour do not count', () => {
    const countOf = (rows: number[][]) => swathPrecision.derive([heightsOf(1, rows)], params)[0].precision.length;
    // tan 10 degrees is 0.1763: 0.3526 m over a cell of 2 m.
    expect(countOf(nineCells((c) => 0.352 * c))).toBe(1);
    expect(countOf(nineCells((c) => 0.354 * c))).toBe(0);
    expect(countOf(nineCells(() => 7, 3))).toBe(1);
    expect(countOf(nineCells(() => 7, 2))).toBe(0);
    for (const missing of [0, 1, 2, 3, 5, 6, 7, 8])
      expect(countOf(nineCells(() => 7).filter((_, i) => i !== missing))).toBe(0);
    expect(countOf([])).toBe(0);
    expect(swathPrecision.derive([], params)).toEqual([]);
  });
});

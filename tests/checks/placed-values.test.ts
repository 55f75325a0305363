import { describe, expect, it } from 'vitest';
import type { Verdict } from '../../src/checks/contract/check.js';
import { type PlacedValues, placeOf } from '../../src/checks/contract/placed-values.js';
import { coverage } from '../../src/checks/coverage.js';
import { density } from '../../src/checks/density.js';
import { voids } from '../../src/checks/voids.js';
import { judge } from './judge.js';
import { passCellsOf } from './pass-cells-of.js';

/** A patch of 40 by 20 cells of 1 m with two holes of different size. */
const isHole = (x: number, y: number) =>
  (x >= 8 && x < 12 && y >= 5 && y < 11) || (x >= 25 && x < 28 && y >= 12 && y < 15);
const patch = passCellsOf(40, 20, (x, y) => (isHole(x, y) ? [] : [1, 2]));
const grid = { ...patch, count: 'all' as const, points: Uint32Array.from(patch.column, () => 20) };

function placedOf({ evidence }: Verdict, use?: PlacedValues['use']): PlacedValues {
  return evidence.filter((one) => one.kind === 'placed-values').find((one) => one.use === use || use === undefined)!;
}

const meanOf = (values: ArrayLike<number>) => Array.from(values).reduce((a, b) => a + b, 0) / values.length;

// The values by place must be those that the verdict rests on: their figure over all places is the figure of the verdict.
describe('values by place', () => {
  it('of coverage have the share that was measured', () => {
    const verdict = judge(coverage, {}, { cells: patch });
    const { sets, limit } = placedOf(verdict);
    expect(meanOf(sets[0].value)).toBeCloseTo(verdict.measured.share.value!, 12);
    expect(limit).toBe(verdict.limits.share.value);
  });

  it('of density have the share of dense cells, and for charts the mean density', () => {
    const verdict = judge(density, { cell: 1, min: 10, share: 0.9 }, { grid });
    expect(meanOf(placedOf(verdict, 'sections').sets[0].value)).toBeCloseTo(verdict.measured.share.value!, 12);
    expect(meanOf(placedOf(verdict, 'charts').sets[0].value)).toBeCloseTo(verdict.measured.mean.value!, 9);
  });

  it('of voids are the area of the void at every empty cell, and nothing elsewhere', () => {
    const verdict = judge(voids, { cell: 1, maxArea: 9 }, { grid });
    const [set] = placedOf(verdict).sets;
    const values = Array.from(set.value);
    expect(Math.max(...values)).toBeCloseTo(verdict.measured.largestArea.value!, 12);
    values.forEach((value, i) => {
      const { x, y } = placeOf(set, 1, i);
      expect(value > 0, `${x} ${y}`).toBe(isHole(Math.floor(x), Math.floor(y)));
    });
    const largeOnes = values.filter((_, i) => placeOf(set, 1, i).x < 20 && values[i] > 0);
    const smallOnes = values.filter((_, i) => placeOf(set, 1, i).x > 20 && values[i] > 0);
    expect(Math.min(...largeOnes)).toBeGreaterThan(Math.max(...smallOnes));
  });
});

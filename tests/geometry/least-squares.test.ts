import { describe, expect, it } from 'vitest';
import { type ShiftOptions, solveShift, solveSymmetric } from '../../src/geometry/least-squares.js';
import { type Seeded, seeded } from './seeded.js';

describe('solveSymmetric', () => {
  it('[[4,2],[2,3]] x = [8,7] gives (1.25, 1.5), by hand', () => {
    const right = Float64Array.of(8, 7);
    expect(solveSymmetric(Float64Array.of(4, 2, 2, 3), right, 2)).toBe(true);
    expect(right[0]).toBeCloseTo(1.25, 14);
    expect(right[1]).toBeCloseTo(1.5, 14);
  });
  it('recovers planted unknowns, 1 to 6 of them', () => {
    const random = seeded(81);
    for (let size = 1; size <= 6; size++) {
      const rows = Array.from({ length: size + 4 }, () => Array.from({ length: size }, () => random.normal()));
      const planted = Array.from({ length: size }, () => random.normal());
      const matrix = new Float64Array(size * size);
      const right = new Float64Array(size);
      for (const row of rows) {
        const seen = row.reduce((sum, c, k) => sum + c * planted[k], 0);
        for (let i = 0; i < size; i++) {
          right[i] += row[i] * seen;
          for (let j = 0; j < size; j++) matrix[i * size + j] += row[i] * row[j];
        }
      }
      expect(solveSymmetric(matrix, right, size)).toBe(true);
      planted.forEach((x, i) => {
        expect(right[i]).toBeCloseTo(x, 9);
      });
    }
  });
  it('says so when the matrix is singular or not positive definite', () => {
    expect(solveSymmetric(Float64Array.of(1, 2, 2, 4), Float64Array.of(1, 2), 2)).toBe(false);
    expect(solveSymmetric(Float64Array.of(1, 2, 2, 1), Float64Array.of(1, 2), 2)).toBe(false);
    expect(solveSymmetric(Float64Array.of(0), Float64Array.of(1), 1)).toBe(false);
    const third = 1 / 3;
    const dependent = Float64Array.of(1, third, third, third, third * third, third * third, third, third * third, 1);
    expect(solveSymmetric(dependent, new Float64Array(3), 3)).toBe(false);
  });
});

type Vector = [number, number, number];
interface Surface {
  normal: Vector;
  count: number;
}

const NOISE = 0.003;
const PLANTED: Vector = [0.03, -0.02, 0.025];

/** Distances along noisy normals of the surfaces for the planted shift, senses turned at random. */
function observe(random: Seeded, surfaces: readonly Surface[], shift: Vector = PLANTED, noise = NOISE) {
  const normals: number[] = [];
  const distances: number[] = [];
  for (const { normal, count } of surfaces) {
    for (let i = 0; i < count; i++) {
      const tilted = normal.map((c) => c + 0.003 * random.normal());
      const length = Math.hypot(...tilted) * (random.uniform() < 0.5 ? -1 : 1);
      const unit = tilted.map((c) => c / length);
      normals.push(...unit);
      distances.push(unit[0] * shift[0] + unit[1] * shift[1] + unit[2] * shift[2] + noise * random.normal());
    }
  }
  return { normals: Float64Array.from(normals), distances: Float64Array.from(distances), count: distances.length };
}

function solve(seed: number, surfaces: readonly Surface[], options?: ShiftOptions) {
  const { normals, distances, count } = observe(seeded(seed), surfaces);
  return solveShift(normals, distances, count, options);
}

const crossfall: Surface[] = [
  { normal: [0.025, 0, 1], count: 50_000 },
  { normal: [-0.025, 0, 1], count: 50_000 },
];

describe('solveShift', () => {
  it('road, house fronts on both axes: all three, within a few of the stated standard deviations', () => {
    const found = solve(1, [
      { normal: [0, 0, 1], count: 2000 },
      { normal: [1, 0, 0], count: 300 },
      { normal: [0, 1, 0], count: 40 },
    ]);
    expect(found.observable).toEqual([true, true, true]);
    PLANTED.forEach((planted, axis) => {
      expect(Math.abs(found.shift[axis]! - planted)).toBeLessThan(4 * found.std[axis]!);
      expect(found.estimate[axis]).toBe(found.shift[axis]);
    });
    // Standard deviation of a mean of n distances: noise / sqrt(n).
    expect(found.std[0]! / (NOISE / Math.sqrt(300))).toBeCloseTo(1, 1);
    expect(found.std[1]! / (NOISE / Math.sqrt(40))).toBeCloseTo(1, 1);
    expect(found.std[2]! / (NOISE / Math.sqrt(2000))).toBeCloseTo(1, 1);
    expect(found.rms! / NOISE).toBeCloseTo(1, 1);
    expect(found.directions.map((d) => d.share)).toEqual([2000 / 2340, 300 / 2340, 40 / 2340]);
    expect(found).toMatchObject({ used: 2340, rejected: 0 });
  });
  it('a bare road with 2.5 % crossfall shows the vertical and nothing else, however many points', () => {
    for (const surfaces of [crossfall, crossfall.slice(0, 1)]) {
      const found = solve(2, surfaces);
      expect(found.observable).toEqual([false, false, true]);
      expect(found.shift.slice(0, 2)).toEqual([null, null]);
      expect(found.std.slice(0, 2)).toEqual([null, null]);
      expect(found.directions).toHaveLength(1);
      expect(found.directions[0].direction[2]).toBeGreaterThan(0.999);
    }
    // With both sides of the crown the vertical is right; a single tilted side mixes in 2.5 % of the horizontal shift.
    expect(Math.abs(solve(2, crossfall).shift[2]! - 0.025)).toBeLessThan(0.0001);
  });
  it('a street at 30 degrees with fronts along it only: the shift across it, no axis of the world but the vertical', () => {
    const across: Vector = [-Math.sin(Math.PI / 6), Math.cos(Math.PI / 6), 0];
    const found = solve(3, [
      { normal: [0, 0, 1], count: 3000 },
      { normal: across, count: 500 },
    ]);
    expect(found.observable).toEqual([false, false, true]);
    expect(found.directions).toHaveLength(2);
    const [, second] = found.directions;
    const planted = across.reduce((sum, c, i) => sum + c * PLANTED[i], 0);
    // The direction is given with its largest component positive, as `across` is.
    second.direction.forEach((c, i) => {
      expect(c).toBeCloseTo(across[i], 2);
    });
    expect(Math.abs(second.distance - planted)).toBeLessThan(4 * second.std + 1e-4);
    expect(second.share).toBe(500 / 3500);
  });
  it('a street along the x axis: across and up, not along', () => {
    const found = solve(4, [
      { normal: [0, 0, 1], count: 3000 },
      { normal: [0, 1, 0], count: 500 },
    ]);
    expect(found.observable).toEqual([false, true, true]);
    expect(found.shift[0]).toBeNull();
    expect(Math.abs(found.shift[1]! + 0.02)).toBeLessThan(4 * found.std[1]!);
  });
  it('fewer surfaces than asked for do not count: nine house fronts are none, ten are enough', () => {
    const found = (count: number) =>
      solve(5, [
        { normal: [0, 0, 1], count: 500 },
        { normal: [1, 0, 0], count },
      ]).observable[0];
    expect(found(9)).toBe(false);
    expect(found(10)).toBe(true);
    const few = [
      { normal: [0, 0, 1], count: 500 },
      { normal: [1, 0, 0], count: 4 },
    ] satisfies Surface[];
    expect(solve(5, few, { minSupport: 3 }).observable[0]).toBe(true);
  });
  it('slopes of an embankment, 1 in 2 on both sides, show the shift across it', () => {
    const found = solve(6, [
      { normal: [1, 0, 2], count: 800 },
      { normal: [-1, 0, 2], count: 800 },
    ]);
    expect(found.observable).toEqual([true, false, true]);
    expect(Math.abs(found.shift[0]! - 0.03)).toBeLessThan(4 * found.std[0]!);
    expect(Math.abs(found.shift[2]! - 0.025)).toBeLessThan(4 * found.std[2]!);
  });
  it('nothing at all', () => {
    const found = solveShift(new Float64Array(0), new Float64Array(0), 0);
    expect(found).toMatchObject({ shift: [null, null, null], observable: [false, false, false], rms: null, used: 0 });
    expect(found.directions).toEqual([]);
  });
  it('outliers are left out on request, and counted', () => {
    const random = seeded(7);
    const data = observe(random, [
      { normal: [0, 0, 1], count: 900 },
      { normal: [1, 0, 0], count: 300 },
      { normal: [0, 1, 0], count: 300 },
    ]);
    for (let i = 0; i < data.count; i += 10) data.distances[i] += 0.3;
    const plain = solveShift(data.normals, data.distances, data.count);
    const robust = solveShift(data.normals, data.distances, data.count, { rejectFactor: 4, rejectFloor: 0.002 });
    expect(robust.rejected).toBeGreaterThanOrEqual(150);
    expect(robust.rejected).toBeLessThan(155);
    expect(robust.used + robust.rejected).toBe(1500);
    PLANTED.forEach((planted, axis) => {
      expect(Math.abs(robust.shift[axis]! - planted)).toBeLessThan(4 * robust.std[axis]!);
    });
    expect(plain.rejected).toBe(0);
    expect(plain.rms!).toBeGreaterThan(10 * robust.rms!);
  });
  it('turning a normal and its distance changes nothing', () => {
    const { normals, distances, count } = observe(
      seeded(8),
      crossfall.map((s) => ({ ...s, count: 50 })),
    );
    const turned = solveShift(
      normals.map((c) => -c),
      distances.map((d) => -d),
      count,
    );
    expect(turned).toEqual(solveShift(normals, distances, count));
  });
  it('refuses short arrays and values that are no numbers', () => {
    expect(() => solveShift(new Float64Array(3), new Float64Array(2), 2)).toThrow(RangeError);
    expect(() => solveShift(Float64Array.of(0, 0, 1), Float64Array.of(Number.NaN), 1)).toThrow(RangeError);
  });
});

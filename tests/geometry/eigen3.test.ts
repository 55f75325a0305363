import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { eigenSymmetric3 } from '../../src/geometry/eigen3.js';

function decompose(...entries: number[]): { values: number[]; vectors: number[] } {
  const values = new Float64Array(3);
  const vectors = new Float64Array(9);
  eigenSymmetric3(Float64Array.from(entries), values, vectors);
  return { values: [...values], vectors: [...vectors] };
}

const entry = fc.oneof(
  fc.double({ min: -1e6, max: 1e6, noNaN: true }),
  fc.integer({ min: -3, max: 3 }),
  fc.constant(0),
);
const matrix = fc.tuple(entry, entry, entry, entry, entry, entry);

describe('laws of the decomposition', () => {
  it('V^T diag V = A, rows of unit length and perpendicular, trace kept, ascending, deterministic sign', () => {
    fc.assert(
      fc.property(matrix, (m) => {
        const { values, vectors: v } = decompose(...m);
        const [xx, xy, xz, yy, yz, zz] = m;
        const full = [xx, xy, xz, xy, yy, yz, xz, yz, zz];
        const size = Math.max(...m.map(Math.abs));
        for (let i = 0; i < 3; i++) {
          for (let j = 0; j < 3; j++) {
            let back = 0;
            let dot = 0;
            for (let k = 0; k < 3; k++) {
              back += v[3 * k + i] * values[k] * v[3 * k + j];
              dot += v[3 * i + k] * v[3 * j + k];
            }
            expect(Math.abs(back - full[3 * i + j])).toBeLessThanOrEqual(1e-14 * size + 1e-320);
            expect(Math.abs(dot - (i === j ? 1 : 0))).toBeLessThan(1e-14);
          }
          const row = v.slice(3 * i, 3 * i + 3);
          expect(Math.max(...row)).toBe(Math.max(...row.map(Math.abs)));
        }
        expect(values[0] <= values[1] && values[1] <= values[2]).toBe(true);
        expect(Math.abs(values[0] + values[1] + values[2] - xx - yy - zz)).toBeLessThanOrEqual(1e-14 * size + 1e-320);
      }),
      { seed: 31, numRuns: 1000 },
    );
  });
  it('the determinant is the product of the eigenvalues (whole numbers, worked out exactly)', () => {
    const small = fc.integer({ min: -50, max: 50 });
    fc.assert(
      fc.property(small, small, small, small, small, small, (xx, xy, xz, yy, yz, zz) => {
        const { values } = decompose(xx, xy, xz, yy, yz, zz);
        const determinant = xx * (yy * zz - yz * yz) - xy * (xy * zz - yz * xz) + xz * (xy * yz - yy * xz);
        expect(Math.abs(values[0] * values[1] * values[2] - determinant)).toBeLessThan(1e-8);
      }),
      { seed: 32 },
    );
  });
});

describe('known cases', () => {
  it('diagonal matrices come back exactly', () => {
    expect(decompose(3, 0, 0, 1, 0, 2)).toEqual({ values: [1, 2, 3], vectors: [0, 1, 0, 0, 0, 1, 1, 0, 0] });
    expect(decompose(0, 0, 0, 0, 0, 0)).toEqual({ values: [0, 0, 0], vectors: [1, 0, 0, 0, 1, 0, 0, 0, 1] });
    expect(decompose(5, 0, 0, 5, 0, 5)).toEqual({ values: [5, 5, 5], vectors: [1, 0, 0, 0, 1, 0, 0, 0, 1] });
  });
  it('[[2,1],[1,2]] has 1 and 3 along the diagonals (by hand)', () => {
    const { values, vectors } = decompose(2, 1, 0, 2, 0, 7);
    [1, 3, 7].forEach((value, i) => {
      expect(values[i]).toBeCloseTo(value, 14);
    });
    [Math.SQRT1_2, -Math.SQRT1_2, 0, Math.SQRT1_2, Math.SQRT1_2, 0].forEach((c, i) => {
      expect(Math.abs(vectors[i])).toBeCloseTo(Math.abs(c), 14);
    });
  });
  it('points in a line: two eigenvalues vanish', () => {
    const { values, vectors } = decompose(1, 2, 2, 4, 4, 4);
    expect(Math.abs(values[0])).toBeLessThan(1e-15);
    expect(Math.abs(values[1])).toBeLessThan(1e-15);
    expect(values[2]).toBeCloseTo(9, 13);
    [1 / 3, 2 / 3, 2 / 3].forEach((c, i) => {
      expect(vectors[6 + i]).toBeCloseTo(c, 14);
    });
  });
  it('a plane of 1 mm noise across 10 m: the small eigenvalue keeps its digits', () => {
    const { values } = decompose(8.3, 0, 0, 8.4, 0, 1e-6);
    expect(values[0]).toBe(1e-6);
    // The same turned by 0.3 about x, exactly symmetric input: relative error stays at rounding of the largest value.
    const [c, s] = [Math.cos(0.3), Math.sin(0.3)];
    const turned = decompose(8.3, 0, 0, c * c * 8.4 + s * s * 1e-6, c * s * (8.4 - 1e-6), s * s * 8.4 + c * c * 1e-6);
    expect(Math.abs(turned.values[0] - 1e-6)).toBeLessThan(4e-15);
  });
  it('very large and very small entries', () => {
    const large = decompose(2e150, 1e150, 0, 2e150, 0, 7e150);
    expect(large.values[0] / 1e150).toBeCloseTo(1, 13);
    const small = decompose(2e-150, 1e-150, 0, 2e-150, 0, 7e-150);
    expect(small.values[1] / 1e-150).toBeCloseTo(3, 13);
    const wide = decompose(1, 1e-200, 0, 1, 0, 1);
    expect(wide.values).toEqual([1, 1, 1]);
  });
  it('refuses entries that are no numbers', () => {
    expect(() => decompose(1, 0, Number.NaN, 1, 0, 1)).toThrow(RangeError);
  });
});

import fc from 'fast-check';
import { expect, test } from 'vitest';
import { widenByNumbers, widenByWhole } from '../../src/kernel/ranges.js';

test('smallest and largest of whole numbers: those of Math.min and Math.max', () => {
  fc.assert(
    fc.property(fc.array(fc.integer({ min: -(2 ** 31), max: 2 ** 31 - 1 }), { maxLength: 5000 }), (values) => {
      const range: [number, number] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
      widenByWhole(Int32Array.from(values), values.length, range);
      expect(range).toEqual([Math.min(...values), Math.max(...values)]);
    }),
    { seed: 1, numRuns: 60 },
  );
});

test('smallest and largest of numbers: what is not a number is left out', () => {
  fc.assert(
    fc.property(fc.array(fc.double(), { maxLength: 5000 }), (values) => {
      const range: [number, number] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
      widenByNumbers(Float64Array.from(values), values.length, range);
      const known = values.filter((value) => !Number.isNaN(value)).map((value) => value + 0);
      expect(range).toEqual([Math.min(...known), Math.max(...known)]);
    }),
    { seed: 1, numRuns: 60 },
  );
});

test('a range is widened, never narrowed', () => {
  const range: [number, number] = [-5, 9];
  widenByWhole(Int32Array.of(1, 2, 3, 4, 5), 5, range);
  expect(range).toEqual([-5, 9]);
  widenByWhole(Int32Array.of(1, 2, 3, 4, 50), 5, range);
  expect(range).toEqual([-5, 50]);
});

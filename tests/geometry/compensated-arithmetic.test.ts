import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { differenceOfProducts, exactSum, productError } from '../../src/geometry/compensated-arithmetic.js';

const whole = fc.maxSafeInteger();

describe('differenceOfProducts', () => {
  it('agrees with big integers to the last bits, however much cancels', () => {
    fc.assert(
      fc.property(whole, whole, whole, fc.integer({ min: -3, max: 3 }), (a, b, c, near) => {
        // d is chosen so that c * d is close to a * b.
        const exactD = c === 0 ? 0n : (BigInt(a) * BigInt(b)) / BigInt(c) + BigInt(near);
        if (exactD > BigInt(Number.MAX_SAFE_INTEGER) || exactD < -BigInt(Number.MAX_SAFE_INTEGER)) return;
        const d = Number(exactD);
        const exact = BigInt(a) * BigInt(b) - BigInt(c) * exactD;
        const size = Math.abs(a * b) + Math.abs(c * d);
        const error = Math.abs(Number(BigInt(differenceOfProducts(a, b, c, d)) - exact));
        expect(error).toBeLessThanOrEqual(2 ** -52 * Math.abs(Number(exact)) + 2 ** -104 * size);
      }),
      { seed: 5, numRuns: 2000 },
    );
  });
  it('a plain difference would lose everything here', () => {
    const [a, b] = [94906267, 94906265];
    const exact = BigInt(a) * BigInt(b) - 94906266n * 94906266n;
    expect(a * b - 94906266 * 94906266).not.toBe(Number(exact));
    expect(differenceOfProducts(a, b, 94906266, 94906266)).toBe(Number(exact));
  });
});

describe('productError', () => {
  it('product and error add up to the exact product', () => {
    fc.assert(
      fc.property(whole, whole, (a, b) => {
        const p = a * b;
        expect(BigInt(p) + BigInt(productError(a, b, p))).toBe(BigInt(a) * BigInt(b));
      }),
      { seed: 6 },
    );
  });
});

describe('exactSum', () => {
  it('the classical cancellations', () => {
    const sum = (values: number[]) => exactSum(values.length, (i) => values[i]);
    expect(sum([1e16, 1, -1e16])).toBe(1);
    expect(sum([1, 1e100, 1, -1e100])).toBe(2);
    expect(sum(Array.from({ length: 10 }, () => 0.1))).toBe(1);
    expect(sum([])).toBe(0);
  });
  it('is the exact sum of integers rounded once', () => {
    fc.assert(
      fc.property(fc.array(whole, { maxLength: 40 }), (values) => {
        const exact = values.reduce((sum, v) => sum + BigInt(v), 0n);
        expect(exactSum(values.length, (i) => values[i])).toBe(Number(exact));
      }),
      { seed: 7 },
    );
  });
});

import { describe, expect, it } from 'vitest';
import { probabilityWithinRadius, radiusOf95 } from '../../src/geometry/circular-error.js';

/**
 * Smaller standard deviation in units of the larger, radius of 95 %. Computed with SciPy 1.17.1 (scipy.integrate.quad over
 * the polar form of the density, scipy.optimize.brentq), which is another form of the integral than the one under test.
 */
const SCIPY: readonly (readonly [number, number])[] = [
  [0, 1.9599639845],
  [0.01, 1.9599894967],
  [0.05, 1.9606026543],
  [0.1, 1.9625295968],
  [0.2, 1.970407501],
  [0.3, 1.9841962261],
  [0.4, 2.0051372439],
  [0.5, 2.0358587203],
  [0.6, 2.0813044765],
  [0.7, 2.1459811258],
  [0.8, 2.2302872857],
  [0.9, 2.3317979832],
  [1, 2.4477468307],
];

describe('radius of 95 % of a horizontal error', () => {
  it.each(SCIPY)('ratio %d of the two axes: %d times the larger RMSE', (ratio, radius) => {
    expect(radiusOf95(0.03, 0.03 * ratio)).toBeCloseTo(0.03 * radius, 10);
    expect(radiusOf95(0.03 * ratio, 0.03)).toBeCloseTo(0.03 * radius, 10);
    expect(probabilityWithinRadius(radius, 1, ratio)).toBeCloseTo(0.95, 9);
  });

  it('agrees with the NSSDA formula for ratios of 0.6 to 1 (FGDC-STD-007.3-1998, appendix 3-A) within 7 %', () => {
    for (const ratio of [0.6, 0.7, 0.8, 0.9, 1]) {
      const nssda = 2.4477 * 0.5 * (1 + ratio);
      expect(Math.abs(nssda / radiusOf95(1, ratio) - 1)).toBeLessThan(0.07);
    }
  });

  it('is 0 without any error', () => {
    expect(radiusOf95(0, 0)).toBe(0);
  });
});

import { describe, expect, it } from 'vitest';
import {
  accuracyInSpaceAt95,
  combineQuadrature,
  continuousClass,
  NSSDA_AXIS,
  NSSDA_RADIAL,
  NSSDA_VERTICAL,
  nssdaHorizontal,
  nssdaVertical,
  rmse3d,
  rmseHorizontal,
  smallestClassMet,
} from '../../src/geometry/accuracy.js';
import { chiSquareQuantile, normalQuantile } from '../../src/geometry/distributions.js';
import { seeded } from './seeded.js';

describe('NSSDA, FGDC-STD-007.3-1998, appendix 3-A', () => {
  it('its constants are quantiles, rounded', () => {
    expect(Math.sqrt(chiSquareQuantile(0.95, 2)).toFixed(4)).toBe(NSSDA_AXIS.toFixed(4));
    expect(Math.sqrt(chiSquareQuantile(0.95, 2) / 2).toFixed(4)).toBe(NSSDA_RADIAL.toFixed(4));
    expect(normalQuantile(0.975).toFixed(4)).toBe(NSSDA_VERTICAL.toFixed(4));
  });
  it('equal axes: 1.7308 RMSE_r', () => {
    expect(nssdaHorizontal(0.1, 0.1)).toBe(1.7308 * Math.sqrt(0.1 * 0.1 + 0.1 * 0.1));
    expect(nssdaHorizontal(0, 0)).toBe(0);
  });
  it('unequal axes: half sum down to a ratio of 0.6, no figure below', () => {
    expect(nssdaHorizontal(0.06, 0.1)).toBeCloseTo(2.4477 * 0.08, 12);
    expect(nssdaHorizontal(0.1, 0.06)).toBeCloseTo(2.4477 * 0.08, 12);
    // The same ratio, one unit of rounding below it.
    expect(nssdaHorizontal(0.06 * (1 - 2 ** -52), 0.1)).toBeCloseTo(2.4477 * 0.08, 12);
    expect(nssdaHorizontal(0.018 * (1 - 2 ** -52), 0.03)).toBeCloseTo(2.4477 * 0.024, 12);
    expect(nssdaHorizontal(0.0599, 0.1)).toBeNull();
    expect(nssdaHorizontal(0, 0.1)).toBeNull();
  });
  it('seven check points of PERS May 2014 p. 397 (computed from the printed residuals)', () => {
    expect(rmseHorizontal(0.090825, 0.080887)).toBeCloseTo(0.121622, 6);
    expect(NSSDA_RADIAL * rmseHorizontal(0.090825, 0.080887)).toBeCloseTo(0.210503, 5);
    expect(rmse3d(0.121622, 0.033183)).toBeCloseTo(0.126067, 5);
    expect(nssdaVertical(0.033183)).toBeCloseTo(0.06504, 5);
  });
  it('ASPRS edition 1, annex D (from memory): RMSE_r 0.147, 95 % 0.255 and 0.160', () => {
    expect(rmseHorizontal(0.101675, 0.106489).toFixed(3)).toBe('0.147');
    expect(nssdaHorizontal(0.101675, 0.106489)?.toFixed(3)).toBe('0.255');
    expect(nssdaVertical(0.081381).toFixed(3)).toBe('0.160');
  });
  it('radius of 95 % from road-map rules in metres: 0.2 m / 1.7308 and 0.2 m / 1.96 (Korea, HD road maps, annex 1)', () => {
    expect(nssdaHorizontal(0.11555 / Math.SQRT2, 0.11555 / Math.SQRT2)).toBeCloseTo(0.2, 4);
    expect(nssdaVertical(0.10204)).toBeCloseTo(0.2, 4);
  });
});

describe('survey accuracy in quadrature', () => {
  it('ASPRS edition 2, table 7.4: check point survey 2.0 cm, first row as printed, the rest computed with NumPy', () => {
    const printed = [2.24, 2.5, 2.83, 3.2, 3.61, 4.03, 4.47, 4.92, 5.39, 5.85];
    printed.push(6.32, 6.8, 7.28, 7.76, 8.25, 8.73, 9.22, 9.71, 10.2);
    printed.forEach((total, i) => {
      expect(Math.abs(combineQuadrature(1 + i / 2, 2) - total)).toBeLessThan(0.0051);
    });
  });
  it('handbook example, chapter 52: survey parts 1.2, 1.0, 0.8 cm make 1.8; with the fit 7.9 they make 8.1', () => {
    expect(combineQuadrature(1.2, 1.0, 0.8).toFixed(1)).toBe('1.8');
    expect(combineQuadrature(7.9, 1.8)).toBeCloseTo(8.1025, 4);
  });
  it('refuses parts that are no length', () => {
    expect(() => combineQuadrature(1, -1)).toThrow(RangeError);
    expect(() => rmse3d(Number.NaN, 1)).toThrow(RangeError);
  });
});

describe('accuracy at 95 % of several axes together', () => {
  it('one axis and two equal axes are those of NSSDA (3-A), three equal ones chi-square(0.95, 3) = 7.8147 of any table', () => {
    expect(accuracyInSpaceAt95([0, 0, 1]).toFixed(4)).toBe('1.9600');
    expect((accuracyInSpaceAt95([1, 1, 0]) / Math.SQRT2).toFixed(4)).toBe('1.7308');
    expect(accuracyInSpaceAt95([1, 1, 1])).toBeCloseTo(Math.sqrt(7.8147), 4);
    expect(accuracyInSpaceAt95([0, 0, 0])).toBe(0);
  });

  it('grows with its unit, and the order of the axes does not matter', () => {
    expect(accuracyInSpaceAt95([0.001, 0.002, 0.003])).toBeCloseTo(accuracyInSpaceAt95([3, 1, 2]) / 1000, 12);
  });

  // Counted, not computed: the law is approximate for axes that differ, so within half a percent of the errors.
  it.each([[[1, 1, 1]], [[1, 0.8, 0.5]], [[1, 0.5, 0.2]], [[1, 1, 0.3]], [[1, 0.1, 0.1]]])(
    'of normal errors with RMSE %j, 95 %% lie within',
    (axes) => {
      const random = seeded(2026);
      const radius = accuracyInSpaceAt95(axes);
      const draws = 100_000;
      let within = 0;
      for (let k = 0; k < draws; k++) if (Math.hypot(...axes.map((s) => s * random.normal())) <= radius) within++;
      expect(Math.abs(within / draws - 0.95)).toBeLessThan(0.005);
    },
  );
});

describe('classes', () => {
  it('an RMSE at the limit meets the class, a hair over does not', () => {
    expect(smallestClassMet(0.05)).toBe(5);
    expect(smallestClassMet(0.0500001)).toBe(10);
    expect(smallestClassMet(0)).toBe(1);
    expect(smallestClassMet(0.333)).toBe(33.3);
    expect(smallestClassMet(3.4)).toBeNull();
  });
  it('the list may come in any order', () => {
    expect(smallestClassMet(0.02, [10, 2, 5, 3])).toBe(2);
    expect(smallestClassMet(0.02, [])).toBeNull();
  });
  it('any value is a class: rounded up, decimals as people write them', () => {
    expect(continuousClass(0.07)).toBe(7);
    expect(continuousClass(0.0701)).toBe(7.1);
    expect(continuousClass(0.07001)).toBe(7.1);
    expect(continuousClass(0.0234)).toBe(2.4);
    expect(continuousClass(0.0234, 0.5)).toBe(2.5);
    expect(continuousClass(0)).toBe(0);
  });
});

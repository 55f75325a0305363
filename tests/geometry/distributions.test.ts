import { describe, expect, it } from 'vitest';
import {
  chiSquareCdf,
  chiSquareQuantile,
  normalQuantile,
  rmseInterval,
  rmseLowerBound,
  rmseUpperBound,
  sigmaInterval,
  studentTQuantile,
} from '../../src/geometry/distributions.js';
import { logGamma } from '../../src/geometry/special-functions.js';
import {
  CHI_SQUARE_PROBABILITIES,
  CHI_SQUARE_QUANTILES,
  NORMAL_QUANTILES,
  STUDENT_T_QUANTILES,
} from './scipy-values.js';

function expectRelative(found: number, expected: number, tolerance: number, what: string): void {
  expect(Math.abs(found - expected) / Math.abs(expected), what).toBeLessThan(tolerance);
}

describe('against SciPy', () => {
  it('chi-square quantiles, 1 to 10000 degrees of freedom', () => {
    for (const [dof, p, x] of CHI_SQUARE_QUANTILES) expectRelative(chiSquareQuantile(p, dof), x, 1e-11, `${dof} ${p}`);
  });
  it('chi-square probabilities', () => {
    for (const [dof, x, p] of CHI_SQUARE_PROBABILITIES) {
      if (p < 1e-300) expect(chiSquareCdf(x, dof)).toBeLessThan(1e-290);
      else expectRelative(chiSquareCdf(x, dof), p, 1e-10, `${dof} ${x}`);
    }
  });
  it('normal quantiles', () => {
    for (const [p, z] of NORMAL_QUANTILES) expectRelative(normalQuantile(p), z, 1e-12, `${p}`);
    expect(normalQuantile(0.5)).toBe(0);
  });
  it("Student's t quantiles", () => {
    for (const [dof, p, t] of STUDENT_T_QUANTILES) expectRelative(studentTQuantile(p, dof), t, 1e-10, `${dof} ${p}`);
  });
});

describe('closed forms', () => {
  it('log gamma of whole numbers is the logarithm of a factorial', () => {
    let factorial = 1;
    for (let n = 1; n <= 20; n++) {
      expect(Math.abs(logGamma(n) - Math.log(factorial))).toBeLessThan(1e-13);
      factorial *= n;
    }
  });
  it('two degrees of freedom: chi-square is exponential', () => {
    for (const p of [1e-9, 0.01, 0.3, 0.5, 0.8, 0.999]) {
      expectRelative(chiSquareQuantile(p, 2), -2 * Math.log1p(-p), 1e-13, `${p}`);
    }
  });
  it("one degree of freedom: Student's t is the tangent of the half angle", () => {
    for (const p of [0.6, 0.75, 0.9, 0.99]) {
      expectRelative(studentTQuantile(p, 1), Math.tan(Math.PI * (p - 0.5)), 1e-12, `${p}`);
      expect(studentTQuantile(1 - p, 1)).toBeCloseTo(-studentTQuantile(p, 1), 10);
    }
    expect(studentTQuantile(0.5, 7)).toBe(0);
  });
  it('quantile and probability undo each other', () => {
    for (const dof of [1, 2, 7, 29, 100, 3333, 10000]) {
      for (const p of [0.001, 0.2, 0.5, 0.77, 0.999]) {
        expect(chiSquareCdf(chiSquareQuantile(p, dof), dof)).toBeCloseTo(p, 11);
      }
    }
  });
});

/** Factors of the standard deviation for sigma = 1: n, then low and high at 90, 95 and 99 %. */
// biome-ignore format: table as printed
const FACTORS = [
  [2, 0.5102, 15.9472, 0.4461, 31.9102, 0.3562, 159.5759],
  [3, 0.5778, 4.4154, 0.5207, 6.2847, 0.4344, 14.1244],
  [4, 0.6196, 2.92, 0.5665, 3.7285, 0.4834, 6.4675],
  [5, 0.6493, 2.3724, 0.5991, 2.8736, 0.5188, 4.396],
  [6, 0.672, 2.0893, 0.6242, 2.4526, 0.5464, 3.4848],
  [7, 0.6903, 1.9154, 0.6444, 2.2021, 0.5688, 2.9798],
  [8, 0.7054, 1.7972, 0.6612, 2.0353, 0.5875, 2.6601],
  [9, 0.7183, 1.711, 0.6755, 1.9158, 0.6036, 2.4394],
  [10, 0.7293, 1.6452, 0.6878, 1.8256, 0.6177, 2.2776],
  [15, 0.7688, 1.4597, 0.7321, 1.5771, 0.6686, 1.8536],
  [20, 0.7939, 1.3704, 0.7605, 1.4606, 0.7018, 1.6662],
  [30, 0.8255, 1.2797, 0.7964, 1.3443, 0.7444, 1.4867],
  [40, 0.8454, 1.232, 0.8192, 1.284, 0.7718, 1.3966],
  [50, 0.8594, 1.2017, 0.8353, 1.2461, 0.7914, 1.341],
  [60, 0.8701, 1.1805, 0.8476, 1.2197, 0.8065, 1.3026],
  [100, 0.8963, 1.1336, 0.878, 1.1617, 0.844, 1.22],
  [120, 0.9045, 1.1203, 0.8875, 1.1454, 0.8558, 1.1973],
  [1000, 0.9646, 1.0383, 0.958, 1.0459, 0.9453, 1.0609],
  [10000, 0.9885, 1.0118, 0.9863, 1.0141, 0.9821, 1.0185],
];

describe('confidence intervals', () => {
  it('factors printed by Boost.Math example chi_square_std_dev_test, all rows', () => {
    for (const [n, low90, high90, low95, high95, low99, high99] of FACTORS) {
      const found = [0.9, 0.95, 0.99].map((confidence) => sigmaInterval(1, n, confidence));
      const printed = [low90, high90, low95, high95, low99, high99];
      found
        .flatMap(({ low, high }) => [low, high])
        .forEach((factor, i) => {
          expect(Math.abs(factor - printed[i]), `n = ${n}`).toBeLessThanOrEqual(5.0001e-5);
        });
    }
  });
  it('NIST e-Handbook 1.3.5.8 case as printed by Boost.Math: n 10, s 13.97', () => {
    const at = (confidence: number) => sigmaInterval(13.97, 10, confidence);
    expect([at(0.9), at(0.95), at(0.99)].map(({ low, high }) => [low.toFixed(5), high.toFixed(5)])).toEqual([
      ['10.18898', '22.98341'],
      ['9.60906', '25.50377'],
      ['8.62898', '31.81825'],
    ]);
    // Test of s against 10: statistic 17.56448, its probability 0.9594, critical values at dof 9 as printed.
    expect((9 * 13.97 ** 2) / 100).toBeCloseTo(17.56448, 5);
    expect(chiSquareCdf(17.56448, 9)).toBeCloseTo(0.9594, 4);
    expect([0.95, 0.975, 0.05, 0.025].map((p) => chiSquareQuantile(p, 9).toPrecision(4))).toEqual([
      '16.92',
      '19.02',
      '3.325',
      '2.700',
    ]);
  });
  it('RMSE with n degrees of freedom (factors computed with SciPy)', () => {
    const computed: Record<string, [number, number]> = {
      5: [0.6242, 2.4526],
      10: [0.6987, 1.7549],
      20: [0.7651, 1.4441],
      30: [0.7991, 1.3367],
      60: [0.8487, 1.2174],
      120: [0.8879, 1.1447],
    };
    for (const [n, [low, high]] of Object.entries(computed)) {
      const interval = rmseInterval(1, Number(n));
      expect(Math.abs(interval.low - low)).toBeLessThan(5.1e-5);
      expect(Math.abs(interval.high - high)).toBeLessThan(5.1e-5);
    }
  });
  it('handbook example: 42 points, RMSE 8.1 cm (open handbook on elevation data, chapter 52; chi-square printed 26.0 and 61.8)', () => {
    expect(chiSquareQuantile(0.025, 42)).toBeCloseTo(25.99866, 5);
    expect(chiSquareQuantile(0.975, 42)).toBeCloseTo(61.77676, 5);
    const rmseV = Math.sqrt(7.9 ** 2 + 1.8 ** 2);
    const { low, high } = rmseInterval(rmseV, 42);
    expect(low.toFixed(4)).toBe('6.6808');
    // Printed 10.3; computed 10.2983.
    expect(high.toFixed(4)).toBe('10.2983');
  });
  it('a class is refuted at 95 % beyond 1.208 times its limit with 30 points (same handbook, chapter 53)', () => {
    expect(chiSquareQuantile(0.95, 30)).toBeCloseTo(43.77, 2);
    expect((1 / rmseLowerBound(1, 30)).toFixed(3)).toBe('1.208');
    expect(rmseLowerBound(1.207, 30)).toBeLessThan(1);
    expect(rmseLowerBound(1.209, 30)).toBeGreaterThan(1);
  });
  it('the one-sided bound is the upper end of the two-sided interval of twice the risk', () => {
    expect(rmseUpperBound(0.02, 30, 0.95)).toBeCloseTo(rmseInterval(0.02, 30, 0.9).high, 14);
    expect(rmseLowerBound(0.02, 30, 0.95)).toBeCloseTo(rmseInterval(0.02, 30, 0.9).low, 14);
  });
  it('an RMSE of zero has no width', () => {
    expect(rmseInterval(0, 12)).toEqual({ low: 0, high: 0 });
  });
});

it('refuses what is undefined', () => {
  for (const p of [0, 1, -0.1, Number.NaN]) {
    expect(() => chiSquareQuantile(p, 3)).toThrow(RangeError);
    expect(() => normalQuantile(p)).toThrow(RangeError);
    expect(() => studentTQuantile(p, 3)).toThrow(RangeError);
  }
  expect(() => chiSquareQuantile(0.5, 0)).toThrow(RangeError);
  expect(() => chiSquareCdf(Number.NaN, 2)).toThrow(RangeError);
  expect(() => sigmaInterval(1, 1)).toThrow(RangeError);
  expect(() => rmseInterval(-1, 5)).toThrow(RangeError);
  expect(() => rmseUpperBound(0.1, 5, 1)).toThrow(RangeError);
});

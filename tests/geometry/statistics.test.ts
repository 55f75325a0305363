import fc from 'fast-check';
import * as reference from 'simple-statistics';
import { describe, expect, it } from 'vitest';
import {
  kurtosis,
  max,
  mean,
  median,
  medianAndNmad,
  min,
  NMAD_FACTOR,
  nmad,
  percentile,
  rmse,
  skewness,
  standardDeviation,
  summary,
} from '../../src/geometry/statistics.js';
import { CERTIFIED, MICHELSO } from './nist.js';
import { seeded, shuffled } from './seeded.js';

const relative = (found: number, expected: number) => Math.abs(found - expected) / Math.abs(expected);

describe('NIST StRD certified values', () => {
  for (const { name, data, mean: m, standardDeviation: s, tolerance } of CERTIFIED) {
    it(`${name}: mean and standard deviation`, () => {
      expect(relative(mean(data), m)).toBeLessThan(1e-15);
      expect(relative(standardDeviation(data), s)).toBeLessThan(tolerance);
      // The same data moved to the size of a northing: the scatter must not change with the place.
      const moved = data.map((v) => v * 1024 + 2 ** 33);
      expect(relative(standardDeviation(moved), s * 1024)).toBeLessThan(Math.max(tolerance, 2e-6));
    });
  }
  it('the mean may fall between two numbers: [2^53 - 2, 2^53 - 1] has the standard deviation sqrt(1/2), by hand', () => {
    expect(standardDeviation([2 ** 53 - 2, 2 ** 53 - 1])).toBe(Math.SQRT1_2);
  });
  it('the data sets have the published number of values', () => {
    expect(CERTIFIED.map((c) => c.data.length)).toEqual([3, 1001, 1001, 1001, 200, 50, 100]);
  });
  it('Michelso: median and NMAD (computed with NumPy from the data)', () => {
    expect(median(MICHELSO)).toBeCloseTo(299.85, 10);
    expect(nmad(MICHELSO)).toBeCloseTo(0.066717, 6);
  });
});

describe('worked examples of accuracy statements', () => {
  // ASPRS PERS journal, May 2014, p. 397: seven check points, residuals and standard deviations as printed.
  const seven = {
    e: [-0.06, 0.1, -0.06, -0.112, -0.12, -0.1, -0.06],
    n: [0.08, -0.045, 0.08, 0.007, 0.15, -0.045, 0.08],
    h: [0.055, -0.006, -0.017, 0.042, -0.011, 0.013, 0.048],
  };
  it('seven check points: printed standard deviations, divisor n - 1', () => {
    expect(standardDeviation(seven.e)).toBeCloseTo(0.075, 3);
    expect(standardDeviation(seven.n)).toBeCloseTo(0.073, 3);
    expect(standardDeviation(seven.h)).toBeCloseTo(0.03, 3);
  });
  it('seven check points: mean, RMSE, median, NMAD (computed with NumPy from the printed residuals)', () => {
    const figures = [seven.e, seven.n, seven.h].map((v) => [mean(v), rmse(v), median(v), nmad(v)]);
    const expected = [
      [-0.058857, 0.090825, -0.06, 0.059304],
      [0.043857, 0.080887, 0.08, 0.103782],
      [0.017714, 0.033183, 0.013, 0.042995],
    ];
    figures.flat().forEach((figure, i) => {
      expect(Math.abs(figure - expected.flat()[i])).toBeLessThan(6e-7);
    });
  });

  // ASPRS Positional Accuracy Standards, edition 1 (2014), annex D, table D.1; from memory, every printed figure reproduces.
  it('five check points of edition 1, annex D', () => {
    const dx = [-0.14, -0.1, 0.017, -0.07, 0.13];
    const dy = [-0.07, -0.1, -0.07, 0.15, 0.12];
    const dz = [-0.071, 0.01, 0.102, -0.1, 0.087];
    expect([dx, dy, dz].map((v) => mean(v).toFixed(3))).toEqual(['-0.033', '0.006', '0.006']);
    expect([dx, dy, dz].map((v) => standardDeviation(v).toFixed(3))).toEqual(['0.108', '0.119', '0.091']);
    expect([dx, dy, dz].map((v) => rmse(v).toFixed(3))).toEqual(['0.102', '0.106', '0.081']);
  });

  it('RMSE from mean and standard deviation of a real project (USGS validation report, Barataria 2013)', () => {
    // n, mean, standard deviation (n - 1), RMSE as printed in the report.
    const printed = [-0.00533333349535, 0.0577205913534, 0.0574002119585];
    expect(Math.sqrt(printed[0] ** 2 + (50 / 51) * printed[1] ** 2)).toBeCloseTo(printed[2], 8);
  });
});

describe('robust figures and percentiles', () => {
  it('MAD of the example in https://blog.csdn.net/horses/article/details/78749485', () => {
    const data = [1, 1, 2, 2, 4, 6, 9];
    expect(median(data)).toBe(2);
    expect(nmad(data)).toBe(1.4826);
  });
  it('Barnett & Lewis (1978) example (data from memory; MAD worked out by hand)', () => {
    const data = [3, 4, 7, 8, 10, 949, 951];
    expect(median(data)).toBe(8);
    expect(nmad(data)).toBeCloseTo(5.9304, 12);
  });
  it('percentile type 7: rank (n - 1) p of Hyndman & Fan (1996), worked out by hand', () => {
    const errors = [0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.07, 0.09, 0.11, 0.3];
    expect(percentile(errors, 95)).toBeCloseTo(0.2145, 12);
    expect(percentile(errors, 0)).toBe(0.01);
    expect(percentile(errors, 100)).toBe(0.3);
    expect(percentile([7], 50)).toBe(7);
  });
});

describe('against simple-statistics on random data', () => {
  const random = seeded(11);
  for (const n of [4, 5, 50, 1001]) {
    it(`${n} values`, () => {
      const data = Array.from({ length: n }, () => random.normal() * 0.03 + 0.01);
      const close = (found: number | null, expected: number) =>
        expect(Math.abs(found! - expected)).toBeLessThan(1e-11 * Math.max(1, Math.abs(expected)));
      close(mean(data), reference.mean(data));
      close(median(data), reference.median(data));
      close(standardDeviation(data), reference.sampleStandardDeviation(data));
      close(rmse(data), reference.rootMeanSquare(data));
      close(nmad(data), 1.4826 * reference.medianAbsoluteDeviation(data));
      close(min(data), reference.min(data));
      close(max(data), reference.max(data));
      close(skewness(data), reference.sampleSkewness(data));
      close(kurtosis(data), reference.sampleKurtosis(data));
    });
  }
});

describe('laws', () => {
  const values = fc.array(fc.double({ min: -1e7, max: 1e7, noNaN: true }), { minLength: 2, maxLength: 60 });
  it('RMSE^2 = mean^2 + (n - 1) / n * s^2', () => {
    fc.assert(
      fc.property(values, (data) => {
        const n = data.length;
        const whole = mean(data) ** 2 + ((n - 1) / n) * standardDeviation(data) ** 2;
        expect(Math.abs(rmse(data) ** 2 - whole)).toBeLessThanOrEqual(1e-13 * whole + Number.MIN_VALUE);
      }),
      { seed: 1 },
    );
  });
  it('every figure has the same bits in any order', () => {
    const random = seeded(3);
    fc.assert(
      fc.property(values, (data) => {
        expect(summary(shuffled(data, random))).toEqual(summary(data));
      }),
      { seed: 2 },
    );
  });
  it('typed arrays and lists give the same', () => {
    const data = [0.3, -0.1, 0.25, 0.01, 0.6];
    expect(summary(Float64Array.from(data))).toEqual(summary(data));
  });
});

describe('too few values, and values that are no numbers', () => {
  it('summary says null for what does not exist', () => {
    expect(summary([])).toEqual({
      n: 0,
      mean: null,
      median: null,
      standardDeviation: null,
      rmse: null,
      nmad: null,
      p95Absolute: null,
      min: null,
      max: null,
      skewness: null,
      kurtosis: null,
    });
    expect(summary([-0.2])).toMatchObject({ n: 1, mean: -0.2, standardDeviation: null, rmse: 0.2, p95Absolute: 0.2 });
    expect(summary([1, 1, 1, 1])).toMatchObject({ standardDeviation: 0, nmad: 0, skewness: null, kurtosis: null });
  });
  it('the single figures refuse', () => {
    for (const figure of [mean, rmse, median, nmad, min, max]) expect(() => figure([])).toThrow(RangeError);
    expect(() => standardDeviation([1])).toThrow(RangeError);
    expect(() => percentile([1], 101)).toThrow(RangeError);
    expect(() => percentile([1], Number.NaN)).toThrow(RangeError);
  });
  it('a value that is not finite is refused everywhere', () => {
    for (const bad of [Number.NaN, Number.POSITIVE_INFINITY]) {
      const figures = [mean, standardDeviation, rmse, median, nmad, min, max, skewness, kurtosis, summary];
      for (const figure of figures) expect(() => figure([1, bad, 2, 3, 4])).toThrow(/value 1 is/);
    }
  });
});

it('median and NMAD with one sorting are those of the definition, bit for bit', () => {
  const value = fc.oneof(fc.integer({ min: -4, max: 4 }), fc.double({ min: -1e7, max: 1e7, noNaN: true }));
  fc.assert(
    fc.property(fc.array(value, { minLength: 1, maxLength: 40 }), (values) => {
      const middle = median(values);
      const found = medianAndNmad(values);
      expect(found.median).toBe(middle);
      expect(found.nmad).toBe(NMAD_FACTOR * median(values.map((v) => Math.abs(v - middle))));
    }),
    { seed: 20261126 },
  );
});

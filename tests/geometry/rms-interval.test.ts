import { describe, expect, it } from 'vitest';
import { effectiveFreedom, rmsBounds } from '../../src/geometry/rms-interval.js';
import { Random } from '../../src/simulate/scene/random.js';

/** Twenty numbers with two large ones among them. */
const LONG_TAILS = [
  0.3, -1.2, 0.8, 2.4, -0.1, 0.5, -0.9, 1.1, -3.9, 0.2, 0.6, -0.4, 1.7, -1.3, 0.05, 0.7, -0.6, 0.9, -1.0, 4.1,
];

/** The share of surveys whose interval and whose one-sided upper bound contain the true RMS. */
function coverage(seed: number, surveys: number, points: number, draw: (random: Random) => number, trueRms: number) {
  const random = new Random(seed);
  let within = 0;
  let below = 0;
  for (let k = 0; k < surveys; k++) {
    const errors = Float64Array.from({ length: points }, () => draw(random));
    const found = Math.sqrt(errors.reduce((sum, v) => sum + v * v, 0) / points);
    const { interval, oneSided } = rmsBounds([errors]);
    if (interval.low * found <= trueRms && trueRms <= interval.high * found) within++;
    if (trueRms <= oneSided.high * found) below++;
  }
  return { within: within / surveys, below: below / surveys };
}

describe('rmsBounds', () => {
  it('agrees with the integrals of the densities of SciPy (multivariate_t, 8001 nodes; scipy 1.17) to 0.05 %', () => {
    const one = rmsBounds([LONG_TAILS]);
    expect(one.law).toBe('heavy-tailed');
    expect(one.normalErrors).toBeCloseTo(0.197274502, 8);
    expect(one.interval.low / 0.681587).toBeCloseTo(1, 3);
    expect(one.oneSided.low / 0.72591865).toBeCloseTo(1, 3);
    // chi-square with 11.378 degrees of freedom from the fourth moment is wider than 1.6513 of the integral.
    expect(one.interval.high).toBeCloseTo(1.679026899, 8);
    expect(one.oneSided.high).toBeCloseTo(1.536541809, 8);
    const few = rmsBounds([[0.9, -1.1, 1.2, -0.8, 0.4, -1.5, 1.0, -0.7, 0.2, 1.3]]);
    expect(few.normalErrors).toBeCloseTo(0.667355701, 8);
    expect(few.interval.high / 2.33641705).toBeCloseTo(1, 3);
    expect(few.oneSided.high / 2.07919482).toBeCloseTo(1, 3);
  });

  it('of two axes it counts the points, not the components', () => {
    const two = rmsBounds([LONG_TAILS.slice(0, 10), LONG_TAILS.slice(10)]);
    expect(two.normalErrors).toBeCloseTo(0.267727666, 8);
    // The axes differ by a factor of 1.08 only: 19.97 degrees of freedom of 20.
    expect(two.interval.high / 1.76209374).toBeCloseTo(1, 2);
    expect(two.interval.low / 0.68610428).toBeCloseTo(1, 2);
  });

  it('errors without tails have the interval of chi-square', () => {
    const { law, interval } = rmsBounds([Array.from({ length: 42 }, (_, i) => (i % 2 === 0 ? 1 : -1))]);
    expect(law).toBe('normal');
    // The handbook example of distributions.test.ts: 42 points.
    expect(interval.low).toBeCloseTo(0.82454, 5);
    expect(interval.high).toBeCloseTo(1.27101, 5);
  });

  it('one error far beyond the rest makes the upper bound wide, and the bounds contain the RMS', () => {
    const errors = [...Array.from({ length: 29 }, (_, i) => (i % 2 === 0 ? 1 : -1) * (1 + i / 29)), 100];
    const { interval, oneSided } = rmsBounds([errors]);
    expect(interval.high).toBeGreaterThan(4);
    expect(oneSided.high).toBeGreaterThan(3);
    expect(interval.low).toBeLessThanOrEqual(1);
  });

  it('is defined for zeros, one error and axes that do not move, the same whatever the order', () => {
    expect(rmsBounds([[0, 0, 0]]).normalErrors).toBeNull();
    expect(rmsBounds([[0.01]]).interval.high).toBeGreaterThan(30);
    const mostlyZero = rmsBounds([[0, 0, 0, 0, 0, 0, 0, 0, 0, 0.01]]);
    expect(mostlyZero.interval.low).toBeGreaterThan(0);
    expect(Number.isFinite(mostlyZero.interval.high)).toBe(true);
    expect(rmsBounds([LONG_TAILS, LONG_TAILS.map(() => 0)])).toEqual(rmsBounds([LONG_TAILS]));
    expect(rmsBounds([[...LONG_TAILS].reverse()])).toEqual(rmsBounds([LONG_TAILS]));
    expect(() => rmsBounds([[1, 2], [1]])).toThrow(RangeError);
    expect(() => rmsBounds([[]])).toThrow(RangeError);
  });

  it('holds in nine of ten simulated surveys and more where a tenth of the errors is three times larger, and for normal errors', () => {
    // The true RMS follows from the law: sqrt(0.9 + 0.1 * 9). 150 surveys: standard deviation of a share of 0.93 is 0.021.
    const contaminated = coverage(1, 150, 30, (r) => (r.uniform() < 0.1 ? 3 : 1) * r.normal(), Math.sqrt(1.8));
    expect(contaminated.within).toBeGreaterThan(0.87);
    expect(contaminated.below).toBeGreaterThan(0.85);
    const normal = coverage(2, 150, 30, (r) => r.normal(), 1);
    expect(normal.within).toBeGreaterThan(0.9);
    expect(normal.below).toBeGreaterThan(0.9);
  });
});

it('counts degrees of freedom between n and the number of all components (Satterthwaite 1946)', () => {
  expect(effectiveFreedom([0.02, 0.02], 30)).toBeCloseTo(60, 9);
  expect(effectiveFreedom([0.02, 0], 30)).toBeCloseTo(30, 9);
  expect(effectiveFreedom([0.01, 0.01, 0.01], 10)).toBeCloseTo(30, 9);
  expect(effectiveFreedom([0, 0], 30)).toBe(60);
});

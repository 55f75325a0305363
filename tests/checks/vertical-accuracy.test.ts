import { describe, expect, it } from 'vitest';
import { verticalAccuracy } from '../../src/checks/vertical-accuracy.js';
import type { SurveyPoint } from '../../src/delivery/survey-points.js';
import type { SurveyHeight } from '../../src/measure/survey-heights.js';
import { judge, noSamples, surveyPoint } from './judge.js';

function heights(dz: (number | null)[]): SurveyHeight[] {
  return dz.map((v) => ({
    dz: v,
    found: v === null ? 0 : 50,
    used: 40,
    reason: v === null ? 'no cloud point within 0.5 m' : null,
    perPass: [],
  }));
}

function pointsFor(dz: readonly unknown[], more: Partial<SurveyPoint> = {}): SurveyPoint[] {
  return dz.map((_, i) => surveyPoint(`P${i + 1}`, { x: i, ...more }));
}

function judgeHeights(dz: (number | null)[], options: Record<string, unknown>, more: Partial<SurveyPoint> = {}) {
  return judge(
    verticalAccuracy,
    options,
    { heights: heights(dz), samples: noSamples },
    { surveyPoints: pointsFor(dz, more) },
  );
}

/** Height residuals of seven check points, PERS May 2014 p. 397; the standard deviation printed there is 0.030 m. */
const SEVEN = [0.055, -0.006, -0.017, 0.042, -0.011, 0.013, 0.048];

/** Table 7.4 of ASPRS edition 2 (as read in an open calculator's notes): RMSE_V1, survey 2.0 cm, RMSE_V, centimetres. */
const TABLE_7_4 = [
  [1.0, 2.24],
  [2.0, 2.83],
  [5.0, 5.39],
  [10.0, 10.2],
];

describe('vertical-accuracy', () => {
  it('gives the statistics of a published set of seven check points', () => {
    const { measured } = judgeHeights(SEVEN, { maxRmse: 0.05, minPoints: 7 });
    expect(measured.mean.value).toBeCloseTo(0.017714, 6);
    expect(measured.std.value).toBeCloseTo(0.030308, 6);
    expect(measured.rmse.value).toBeCloseTo(0.033183, 6);
    expect(measured.nmad.value).toBeCloseTo(0.042995, 6);
    expect(measured.median.value).toBeCloseTo(0.013, 9);
    expect(measured.class).toEqual({ value: 0.034, unit: 'm' });
  });

  it.each(TABLE_7_4)(
    'adds the accuracy of the survey in quadrature: fit %d cm with 2.0 cm gives %d cm',
    (fit, total) => {
      const dz = Array.from({ length: 30 }, (_, i) => ((i % 2 === 0 ? 1 : -1) * fit) / 100);
      const { measured } = judgeHeights(dz, { maxRmse: 1 }, { sigmaV: 0.02 });
      expect(measured.rmseFit.value).toBeCloseTo(fit / 100, 9);
      expect(measured.rmseSurvey.value).toBeCloseTo(0.02, 9);
      expect((measured.rmse.value ?? 0) * 100).toBeCloseTo(total, 2);
    },
  );

  it('gives the interval of the RMSE from chi-square with n degrees of freedom', () => {
    // A handbook example: 42 points, RMSE 8.1 cm, 95 % interval 6.6 to 10.3 cm; multipliers 0.82454 and 1.27101 recomputed.
    const dz = Array.from({ length: 42 }, (_, i) => (i % 2 === 0 ? 0.081 : -0.081));
    const { measured } = judgeHeights(dz, { maxRmse: 0.1 });
    expect(measured.rmseLow.value).toBeCloseTo(0.081 * 0.82454, 5);
    expect(measured.rmseHigh.value).toBeCloseTo(0.081 * 1.27101, 5);
  });

  it('passes at the limit and fails above it', () => {
    const at = Array.from({ length: 30 }, (_, i) => (i % 2 === 0 ? 0.02 : -0.02));
    expect(judgeHeights(at, { maxRmse: 0.0201 }).state).toBe('pass');
    expect(judgeHeights(at, { maxRmse: 0.0199 }).state).toBe('fail');
  });

  it('a blunder fails the requirement by name, and is kept out of the RMSE but not hidden', () => {
    const dz = [...new Array<number>(30).fill(0.004), 0.35];
    const verdict = judgeHeights(dz, { maxRmse: 0.02 });
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toContain('P31');
    expect(verdict.measured.blunders.value).toBe(1);
    expect(verdict.measured.rmse.value).toBeCloseTo(0.004, 9);
    expect(verdict.measured.rmseAll.value).toBeGreaterThan(0.06);
    expect(verdict.surveyPoints?.[30].status).toBe('blunder');
    expect(judgeHeights(dz, { maxRmse: 0.02, maxBlunders: 1 }).state).toBe('pass');
  });

  it('an offset of the whole cloud is no blunder of any point, and earns advice', () => {
    const verdict = judgeHeights(new Array<number>(30).fill(-38.42), { maxRmse: 0.02 });
    expect(verdict.measured.blunders.value).toBe(0);
    expect(verdict.state).toBe('fail');
    expect(verdict.causes!.map((c) => c.text).join(' ')).toContain('below the check points');
  });

  it('too few points are no evidence, unless even the lower bound exceeds the limit', () => {
    expect(judgeHeights(SEVEN, { maxRmse: 0.05 }).state).toBe('undetermined');
    expect(judgeHeights(SEVEN, { maxRmse: 0.03 }).state).toBe('undetermined');
    expect(judgeHeights(SEVEN, { maxRmse: 0.01 }).state).toBe('fail');
  });

  it('control points are listed, never judged', () => {
    const dz = [...new Array<number>(30).fill(0.001), 0.5, 0.6];
    const points = pointsFor(dz);
    points[30].role = 'control';
    points[31].role = 'control';
    const verdict = judge(
      verticalAccuracy,
      { maxRmse: 0.02 },
      { heights: heights(dz), samples: noSamples },
      { surveyPoints: points },
    );
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.n.value).toBe(30);
    expect(verdict.surveyPoints).toHaveLength(32);
  });

  it('points without a cloud height are listed with the reason and do not count', () => {
    const verdict = judgeHeights([...new Array<number>(30).fill(0.001), null], { maxRmse: 0.02 });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.n.value).toBe(31);
    expect(verdict.measured.used.value).toBe(30);
    expect(JSON.stringify(verdict.evidence)).toContain('no cloud point within 0.5 m');
  });

  it('is undetermined without survey points or when none meets the cloud', () => {
    expect(
      judge(verticalAccuracy, { maxRmse: 0.02 }, { heights: [], samples: noSamples }, { surveyPoints: null }).state,
    ).toBe('undetermined');
    expect(judgeHeights([null, null], { maxRmse: 0.02 }).state).toBe('undetermined');
  });

  it('a guarded decision passes only when the upper bound is inside the limit', () => {
    const dz = Array.from({ length: 30 }, (_, i) => (i % 2 === 0 ? 0.018 : -0.018));
    // One-sided 95 % bounds for n = 30: chi-square 43.773 and 18.493, so 0.018 m lies between 0.0149 and 0.0229 m.
    expect(judgeHeights(dz, { maxRmse: 0.02 }).state).toBe('pass');
    expect(judgeHeights(dz, { maxRmse: 0.02, decision: 'guarded' }).state).toBe('undetermined');
    expect(judgeHeights(dz, { maxRmse: 0.023, decision: 'guarded' }).state).toBe('pass');
    expect(judgeHeights(dz, { maxRmse: 0.0148, decision: 'guarded' }).state).toBe('fail');
  });

  it('says whether the interval supposes normal errors, and a guarded decision uses the wider one where tails are heavy', () => {
    const even = Array.from({ length: 30 }, (_, i) => (i % 2 === 0 ? 0.012 : -0.012));
    expect(judgeHeights(even, { maxRmse: 0.02 }).summary).toContain('95 % interval 9.6 mm to 16.0 mm (normal errors)');
    // The same RMSE with a tenth of the errors five times larger. Chi-square alone would pass it: 1.2737 * 12 mm = 15.3 mm.
    const scale = 0.012 / Math.sqrt(0.9 + 0.1 * 25);
    const tails = Array.from({ length: 30 }, (_, i) => (i % 2 === 0 ? 1 : -1) * (i % 10 === 0 ? 5 : 1) * scale);
    const guarded = judgeHeights(tails, { maxRmse: 0.017, decision: 'guarded', blunderFactor: 50 });
    expect(guarded.measured.rmse.value).toBeCloseTo(0.012, 9);
    expect(guarded.measured.normalErrors.value).toBeLessThan(0.1);
    expect(guarded.summary).toContain('(heavy tails not ruled out)');
    expect(guarded.state).toBe('undetermined');
    expect(judgeHeights(even, { maxRmse: 0.017, decision: 'guarded' }).state).toBe('pass');
  });

  it('a mean above its own limit fails', () => {
    expect(judgeHeights(new Array<number>(30).fill(0.012), { maxRmse: 0.02, maxMean: 0.01 }).state).toBe('fail');
  });
});

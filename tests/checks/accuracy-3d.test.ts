import { describe, expect, it } from 'vitest';
import { accuracy3d } from '../../src/checks/accuracy-3d.js';
import type { SurveyHeight } from '../../src/measure/survey-heights.js';
import { judge } from './judge.js';
import { measuredByHand, PERS_2014 } from './worked-examples.js';

function height(dz: number | null): SurveyHeight {
  return { dz, found: 50, used: 50, reason: dz === null ? 'no plane' : null, perPass: [] };
}

describe('accuracy-3d', () => {
  it('PERS May 2014: RMSE in space of the printed residuals', () => {
    const heights = PERS_2014.points.map(() => height(9));
    const verdict = judge(accuracy3d, { maxRmse: 0.13, minPoints: 7 }, { heights }, { surveyPoints: PERS_2014.points });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.rmse3d.value).toBeCloseTo(PERS_2014.rmse3d, 6);
    expect(verdict.measured.rmseH.value).toBeCloseTo(PERS_2014.rmseH, 6);
    expect(verdict.measured.rmseV.value).toBeCloseTo(PERS_2014.rmse[2], 6);
    expect(verdict.measured.class.value).toBeCloseTo(0.127, 9);
  });

  it('takes the height of the cloud where none was observed manually, and only there', () => {
    const surveyPoints = [
      measuredByHand('A', [0, 0, 5], [0.03, 0, null]),
      measuredByHand('B', [10, 0, 5], [0.03, 0, 0.01]),
      measuredByHand('C', [20, 0, 5], [0.03, 0, null]),
    ];
    const heights = [height(-0.04), height(7), height(null)];
    const verdict = judge(accuracy3d, { maxRmse: 0.2, minPoints: 2 }, { heights }, { surveyPoints });
    expect(verdict.measured).toMatchObject({ n: { value: 3 }, used: { value: 2 } });
    expect(verdict.measured.rmse3d.value).toBeCloseTo(Math.sqrt((0.05 ** 2 + 0.03 ** 2 + 0.01 ** 2) / 2), 12);
    const missing = verdict.evidence.find((e) => e.title === 'Check points without a place and a height in the cloud');
    expect(missing).toMatchObject({ items: [{ note: 'C: no height in the cloud' }] });
  });

  it('adds the survey in all three axes', () => {
    const surveyPoints = Array.from({ length: 4 }, (_, k) =>
      measuredByHand(`P${k}`, [k, 0, 0], [0.03, 0.04, 0], { sigmaH: 0.01, sigmaV: 0.02 }),
    );
    const { measured } = judge(
      accuracy3d,
      { maxRmse: 0.2, minPoints: 4 },
      { heights: surveyPoints.map(() => height(0)) },
      {
        surveyPoints,
      },
    );
    // 50 mm fit; 10 mm in each axis of the plan and 20 mm in height: sqrt(100 + 100 + 400) mm.
    expect(measured.rmseSurvey.value).toBeCloseTo(Math.sqrt(0.0006), 12);
    expect(measured.rmse3d.value).toBeCloseTo(Math.sqrt(0.0025 + 0.0006), 12);
  });

  it('a blunder in height alone is one; nothing to compare is undetermined', () => {
    const surveyPoints = Array.from({ length: 31 }, (_, k) =>
      measuredByHand(`P${k}`, [k, 0, 0], [0.001, 0.001, k === 9 ? 0.5 : 0.001]),
    );
    const verdict = judge(
      accuracy3d,
      { maxRmse: 0.02 },
      { heights: surveyPoints.map(() => height(0)) },
      { surveyPoints },
    );
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toContain('1 blunder (P9)');
    expect(judge(accuracy3d, { maxRmse: 0.02 }, { heights: [] }, { surveyPoints: [] }).state).toBe('undetermined');
    expect(judge(accuracy3d, { maxRmse: 0.02 }, { heights: [] }).state).toBe('undetermined');
  });
});

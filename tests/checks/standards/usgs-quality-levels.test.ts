import { describe, expect, it } from 'vitest';
import { usgsQualityLevels } from '../../../src/checks/standards/usgs-quality-levels.js';
import { factsOf, pointsOf } from './facts.js';

const of = (rmseZ: number, more: object = {}) =>
  usgsQualityLevels.statement(factsOf({ tested: pointsOf(40, { rmseZ, surveyV: 0.01 }), ...more }));

describe('usgs-quality-levels', () => {
  // USGS Lidar Base Specification 2025 rev. A: NVA RMSE_V 5.0 cm (QL0), 10.0 cm (QL1, QL2), 20.0 cm (QL3), seen in a transcript.
  it.each([
    [0.0489, 'QL0'],
    [0.0491, 'QL1 and QL2'],
    [0.0994, 'QL1 and QL2'],
    [0.0996, 'QL3'],
    [0.1996, 'QL3'],
  ])('a fit of %s m with a survey of 1 cm meets %s', (fit, level) => {
    const { class: met, sentence, claimed } = of(fit);
    expect(met).toBe(`height accuracy of ${level}`);
    expect(sentence).toContain(`The height accuracy of quality level ${level} (NVA RMSE_V of at most`);
    expect(claimed).toBe(true);
  });

  it('the fit alone would do, the survey added does not: 20.02 cm meets no level', () => {
    const { class: met, claimed, departures } = of(0.2);
    expect(met).toBeNull();
    expect(claimed).toBe(false);
    expect(departures).toEqual(['NVA RMSE_V = 20.02 cm meets no quality level.']);
  });

  // A real project of 2013: RMSE 0.0574 m at 51 points on open ground, 0.0791 m at 6 in forest.
  it('a real project: NVA 5.7 cm, VVA 7.9 cm, both stated, VVA without a limit', () => {
    const tested = pointsOf(51, { rmseZ: 0.0574002119585 });
    const vegetated = pointsOf(6, { rmseZ: 0.0791212 });
    const { sentence, remarks } = usgsQualityLevels.statement(factsOf({ target: 0.1, tested, vegetated }));
    expect(sentence).toContain('NVA was found to be RMSE_V = 5.74 cm. VVA was found to be RMSE_V = 7.91 cm.');
    expect(remarks).toContainEqual(expect.stringContaining('6 check points in vegetation where 30 are required'));
  });

  it('a limit of the contract that is missed, and too few points, stand against the claim', () => {
    expect(of(0.08, { target: 0.05 }).departures).toEqual(['NVA RMSE_V = 8.06 cm exceeds 5 cm.']);
    const few = usgsQualityLevels.statement(factsOf({ tested: pointsOf(29, { rmseZ: 0.04 }) }));
    expect(few).toMatchObject({ claimed: false, count: { found: 29, asked: 30 } });
    expect(few.sentence).toContain('is not claimed: 29 check points where 30 are required');
  });

  it('says that height is not all of a quality level', () => {
    expect(of(0.04).remarks.join(' ')).toContain('pulse density');
  });
});

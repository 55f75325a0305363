import { describe, expect, it } from 'vitest';
import { nchrp748 } from '../../../src/checks/standards/nchrp-748.js';
import { PERS_2014 } from '../worked-examples.js';
import { axisErrors, factsOf, pointsOf, testedOf } from './facts.js';

const even = (axis: number, points = 20) =>
  nchrp748.statement(factsOf({ aspect: 'space', tested: pointsOf(points, { rmseX: axis, rmseY: axis, rmseZ: axis }) }));

describe('nchrp-748', () => {
  // Levels from memory of NCHRP Report 748: under 0.05 m, to 0.20 m, above, in space at 95 %. Chi-square(0.95, 3) = 7.8147
  // (any table), so 95 % of errors with three equal axes lie within 2.7955 times the RMSE of one.
  it.each([
    [0.0178, '1 (high)', '0.050'],
    [0.018, '2 (medium)', '0.050'],
    [0.0715, '2 (medium)', '0.200'],
    [0.072, '3 (low)', '0.201'],
  ])('axes of %s m each extentShare level %s', (axis, level, at95) => {
    const { class: met, sentence, claimed } = even(axis);
    expect(met).toBe(`accuracy level ${level}`);
    expect(sentence).toContain(
      `Tested ${at95} meters network accuracy in space at 95% confidence level: accuracy level`,
    );
    expect(claimed).toBe(true);
  });

  it('says that the letter of a category is its density', () => {
    expect(even(0.01).remarks.join(' ')).toContain('A above 100, B 30 to 100, C under 30');
  });

  it('seven points (PE&RS May 2014) are too few: the figure is given, no level claimed', () => {
    const tested = testedOf(axisErrors(PERS_2014.points), { surveyH: 0.01, surveyV: 0.01 });
    const { sentence, claimed, class: met } = nchrp748.statement(factsOf({ aspect: 'space', tested }));
    expect(claimed).toBe(false);
    expect(met).toBe('accuracy level 3 (low)');
    expect(sentence).toMatch(
      /^That an accuracy level is met is not claimed: 7 check points where 20 are required .* Found: 0\.2\d\d meters/,
    );
  });

  it('points that were not compared at all', () => {
    const { sentence, class: met } = nchrp748.statement(factsOf({ aspect: 'space' }));
    expect(met).toBeNull();
    expect(sentence).toContain('No check point was tested where 20 are required');
  });
});

import { describe, expect, it } from 'vitest';
import { nssda1998 } from '../../../src/checks/standards/nssda-1998.js';
import { ASPRS_2014_D1, PERS_2014 } from '../worked-examples.js';
import { axisErrors, factsOf, pointsOf, testedOf } from './facts.js';

describe('nssda-1998', () => {
  // Residuals of ASPRS Edition 1 (2014), Annex D (from memory; they recompute): 0.255 m and 0.160 m.
  it('Annex D of ASPRS 2014 by the formulas of NSSDA: 0.255 m in plan, 0.160 m in height', () => {
    const { x, y, z } = axisErrors(ASPRS_2014_D1.points);
    const four = <T>(values: T[]) => [...values, ...values, ...values, ...values];
    const plan = testedOf({ x: four(x), y: four(y) }, { surveyH: 0.01 });
    expect(nssda1998.statement(factsOf({ aspect: 'horizontal', tested: plan }))).toMatchObject({
      sentence: 'Tested 0.255 meters horizontal accuracy at 95% confidence level.',
      claimed: true,
      class: null,
    });
    const height = testedOf({ z: four(z) }, { surveyV: 0.01 });
    expect(nssda1998.statement(factsOf({ tested: height })).sentence).toBe(
      'Tested 0.160 meters vertical accuracy at 95% confidence level.',
    );
  });

  it('equal axes: 1.7308 times the radial RMSE (3-A.1)', () => {
    const tested = pointsOf(20, { rmseX: 0.1, rmseY: 0.1 });
    // 1.7308 * 0.141421 = 0.24477
    expect(nssda1998.statement(factsOf({ aspect: 'horizontal', tested })).sentence).toContain('Tested 0.245 meters');
  });

  it('a real project of 2013 prints 0.1125 m at 95 % for an RMSE of 0.0574 m', () => {
    const tested = pointsOf(51, { rmseZ: 0.0574002119585 });
    expect(nssda1998.statement(factsOf({ tested })).sentence).toContain('Tested 0.113 meters vertical accuracy');
  });

  it('fewer than 20 points (PE&RS May 2014: seven) are not a tested accuracy', () => {
    const tested = testedOf({ z: axisErrors(PERS_2014.points).z }, { surveyV: 0.01 });
    const { sentence, claimed } = nssda1998.statement(factsOf({ tested }));
    expect(claimed).toBe(false);
    expect(sentence).toBe(
      'Not a tested accuracy under the standard: 7 check points where 20 are required (NSSDA (FGDC-STD-007.3-1998), 3.2.2). By its formula: 0.065 meters vertical accuracy at 95% confidence level.',
    );
  });

  it('a ratio of the axes under 0.6 has no formula, 0.6 itself has', () => {
    const of = (rmseX: number) =>
      nssda1998.statement(factsOf({ aspect: 'horizontal', tested: pointsOf(20, { rmseX, rmseY: 0.1 }) }));
    expect(of(0.06).claimed).toBe(true);
    expect(of(0.059)).toMatchObject({ claimed: false, sentence: expect.stringContaining('no formula') });
  });

  it('exactly 20 percent in each quadrant is enough, less is not (appendix 3-C, section 3)', () => {
    const of = (quarters: [number, number, number, number]) => {
      const n = quarters.reduce((sum, k) => sum + k, 0);
      const tested = pointsOf(n, { rmseZ: 0.05 });
      const leastShare = Math.min(...quarters) / n;
      const spread = { n, diagonal: 1414, quarters, leastShare, spacing: 200, nearest: null, extentShare: 0.9 };
      return nssda1998.statement(factsOf({ tested, spread }));
    };
    for (const quarters of [
      [4, 4, 6, 6],
      [5, 6, 7, 7],
      [8, 8, 8, 16],
    ] as [number, number, number, number][])
      expect(of(quarters), quarters.join()).toMatchObject({ claimed: true, spread: { met: true } });
    const less = of([3, 4, 6, 7]);
    expect(less).toMatchObject({ claimed: false, spread: { met: false } });
    expect(less.sentence).toContain('one quarter of the area holds 15.0 % of them (20.0 % required)');
    // Where only the spacing is short, the quarters are not blamed.
    const near = { n: 20, diagonal: 1414, quarters: [4, 4, 6, 6] as [number, number, number, number], leastShare: 0.2 };
    const { sentence } = nssda1998.statement(
      factsOf({
        tested: pointsOf(20, { rmseZ: 0.05 }),
        spread: { ...near, spacing: 30, nearest: null, extentShare: 0.9 },
      }),
    );
    expect(sentence).toContain('two of them are 30.000 m apart');
    expect(sentence).not.toContain('one quarter');
  });

  it('points in a corridor are not asked to be a tenth of the diagonal apart', () => {
    const tested = pointsOf(20, { rmseZ: 0.05 });
    const spread = {
      n: 20,
      diagonal: 1414,
      quarters: [5, 5, 5, 5] as [number, number, number, number],
      leastShare: 0.25,
      spacing: 30,
      nearest: null,
      extentShare: 0.9,
    };
    expect(nssda1998.statement(factsOf({ tested, spread })).sentence).toContain(
      'two of them are 30.000 m apart (141.400 m required)',
    );
    expect(nssda1998.statement(factsOf({ tested, spread, layout: 'corridor' }))).toMatchObject({
      claimed: true,
      spread: { askedSpacing: null, met: true },
    });
  });

  it('a survey whose accuracy nobody stated is remarked on: the standard asks for a better one, without a number', () => {
    const tested = pointsOf(20, { rmseZ: 0.05, surveyV: null });
    const { claimed, remarks } = nssda1998.statement(factsOf({ tested }));
    expect(claimed).toBe(true);
    expect(remarks[0]).toContain('rests on trust');
  });

  it('in the unit of the data and with as many decimals as its coordinates (3.2.3, seen in a transcript)', () => {
    // 0.1 m RMSE: 0.196 m, 0.643 feet at 0.3048 m a foot
    const of = (metres: number, decimals: number) =>
      nssda1998.statement(factsOf({ tested: pointsOf(20, { rmseZ: 0.1 }), unit: { metres, decimals } })).sentence;
    expect(of(1, 2)).toBe('Tested 0.20 meters vertical accuracy at 95% confidence level.');
    expect(of(0.3048, 2)).toBe('Tested 0.64 feet vertical accuracy at 95% confidence level.');
    expect(of(1200 / 3937, 3)).toBe('Tested 0.643 feet vertical accuracy at 95% confidence level.');
    expect(of(1000, 3)).toBe('Tested 0.196 meters vertical accuracy at 95% confidence level.');
  });
});

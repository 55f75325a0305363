import { describe, expect, it } from 'vitest';
import { asprs2014 } from '../../../src/checks/standards/asprs-2014.js';
import { ASPRS_2014_D1 } from '../worked-examples.js';
import { axisErrors, factsOf, pointsOf, testedOf } from './facts.js';

describe('asprs-2014', () => {
  // Annex D, table D.1 (residuals from memory; every figure recomputes): RMSE 0.102, 0.106, 0.081 m, horizontal 0.255 m and
  // vertical 0.160 m at 95 %.
  it('the example of Annex D: 8.1 cm, 16.0 cm at 95 %', () => {
    const tested = testedOf({ z: axisErrors(ASPRS_2014_D1.points).z });
    const { sentence, class: met } = asprs2014.statement(factsOf({ target: 0.1, tested }));
    expect(sentence).toContain(
      'Actual NVA accuracy was found to be RMSEz = 8.14 cm, equating to +/- 15.95 cm at 95% confidence level.',
    );
    expect(met).toBe('10 cm RMSEz Vertical Accuracy Class (NVA at 95 % within 19.6 cm)');
  });

  it('the example of Annex D in plan: 25.5 cm at 95 %, class of either axis', () => {
    const { x, y } = axisErrors(ASPRS_2014_D1.points);
    const facts = factsOf({ aspect: 'horizontal', target: 0.15 * Math.SQRT2, tested: testedOf({ x, y }) });
    const { sentence, class: met } = asprs2014.statement(facts);
    expect(sentence).toContain(
      'RMSEx = 10.17 cm and RMSEy = 10.65 cm which equates to Positional Horizontal Accuracy = +/- 25.48 cm at 95% confidence level.',
    );
    expect(met).toBe('15 cm RMSEx / RMSEy Horizontal Accuracy Class');
  });

  // A real project of 2013, figures as its check point statistics print them (open ground 51 points, forest 6 points).
  it('enough points, well spread: the prescribed sentence with NVA and VVA', () => {
    const tested = pointsOf(51, { rmseZ: 0.0574002119585, surveyV: 0.02 });
    const vegetated = pointsOf(6, { rmseZ: 0.0791212, p95: 0.115 });
    const { sentence, claimed } = asprs2014.statement(factsOf({ target: 0.1, tested, vegetated }));
    expect(sentence).toBe(
      'This data set was tested to meet ASPRS Positional Accuracy Standards for Digital Geospatial Data (2014) for a 10 cm RMSEz Vertical Accuracy Class. Actual NVA accuracy was found to be RMSEz = 5.74 cm, equating to +/- 11.25 cm at 95% confidence level. Actual VVA accuracy was found to be +/- 11.5 cm at the 95th percentile.',
    );
    expect(claimed).toBe(true);
  });

  it('the survey is not added, and must be three times as good', () => {
    const of = (surveyV: number) =>
      asprs2014.statement(factsOf({ target: 0.06, tested: pointsOf(25, { rmseZ: 0.06, surveyV }) }));
    expect(of(0.02)).toMatchObject({ claimed: true, class: expect.stringMatching(/^10 cm/) });
    expect(of(0.021).departures).toEqual(['The check points were surveyed to 21.0 mm only; 20.0 mm is required.']);
  });

  it('VVA beyond three times the class fails it, and lifts the smallest class met', () => {
    const tested = pointsOf(25, { rmseZ: 0.04 });
    const at = (p95: number) =>
      asprs2014.statement(factsOf({ target: 0.05, tested, vegetated: pointsOf(5, { rmseZ: 0.1, p95 }) }));
    expect(at(0.15)).toMatchObject({ claimed: true, class: expect.stringMatching(/^5 cm/) });
    const beyond = at(0.16);
    expect(beyond.sentence).toContain('It does not meet a 5 cm RMSEz Vertical Accuracy Class.');
    expect(beyond.departures).toEqual(['VVA, 16 cm, exceeds three times the class, 15 cm.']);
    expect(beyond.class).toMatch(/^10 cm/);
  });

  it('axes that differ too much have no figure at 95 % (NSSDA, ratio under 0.6)', () => {
    const tested = pointsOf(25, { rmseX: 0.05, rmseY: 0.1 });
    const { sentence } = asprs2014.statement(factsOf({ aspect: 'horizontal', target: 0.2, tested }));
    expect(sentence).toContain('the axes differ too much for a figure at 95% confidence level');
  });

  it('fewer than 20 points, or than the area asks: said, not claimed', () => {
    const of = (points: number, area: number) =>
      asprs2014.statement(factsOf({ target: 0.1, tested: pointsOf(points, { rmseZ: 0.05 }), area }));
    expect(of(19, 1e6)).toMatchObject({ claimed: false, count: { asked: 20 } });
    expect(of(20, 1e6).claimed).toBe(true);
    const large = of(54, 2500e6);
    expect(large.count.asked).toBe(55);
    expect(large.sentence).toContain('54 check points where 55 are required');
  });

  it('a survey whose accuracy nobody stated cannot be shown to be three times as good', () => {
    const tested = pointsOf(25, { rmseZ: 0.05, surveyV: null });
    expect(asprs2014.statement(factsOf({ target: 0.1, tested })).departures).toEqual([
      'The accuracy of the check point survey is not stated for every point, so that it is 3 times as good as the class cannot be shown.',
    ]);
  });

  it('heights: a class is met up to its RMSEz and not beyond (7.5, table 7.2)', () => {
    const of = (rmseZ: number) => asprs2014.statement(factsOf({ target: 0.1, tested: pointsOf(25, { rmseZ }) }));
    expect(of(0.1)).toMatchObject({ claimed: true, departures: [] });
    const beyond = of(0.101);
    expect(beyond.claimed).toBe(false);
    expect(beyond.departures).toEqual(['RMSEz = 10.1 cm exceeds the class of 10 cm.']);
    expect(beyond.sentence).toMatch(
      /^This data set was tested against ASPRS .* \(2014\)\. It does not meet a 10 cm RMSEz Vertical Accuracy Class\. .*Actual NVA accuracy/,
    );
  });

  // Table 7.1: a horizontal class is a limit of RMSEx and of RMSEy, and RMSEr is the root of two times it.
  it('places: the larger axis counts, against the radial limit divided by the root of two', () => {
    const of = (rmseX: number, rmseY: number) =>
      asprs2014.statement(
        factsOf({ aspect: 'horizontal', target: 0.1 * Math.SQRT2, tested: pointsOf(25, { rmseX, rmseY }) }),
      );
    for (const [x, y] of [
      [0.099, 0.07],
      [0.07, 0.099],
    ] as const) {
      expect(of(x, y)).toMatchObject({ claimed: true, class: '10 cm RMSEx / RMSEy Horizontal Accuracy Class' });
      expect(of(x, y).sentence).toContain('tested to meet ASPRS');
      expect(of(x, y).sentence).toContain('for a 10 cm RMSEx / RMSEy Horizontal Accuracy Class.');
    }
    expect(of(0.101, 0.07).departures).toEqual(['RMSEx = 10.1 cm exceeds the class of 10 cm of either axis.']);
    expect(of(0.07, 0.101).departures).toEqual(['RMSEy = 10.1 cm exceeds the class of 10 cm of either axis.']);
    expect(of(0.07, 0.101)).toMatchObject({
      claimed: false,
      class: '15 cm RMSEx / RMSEy Horizontal Accuracy Class',
      sentence: expect.stringContaining('It does not meet a 10 cm'),
    });
  });

  it('nothing is claimed without a class aimed at, without a test, or where a condition is not met', () => {
    const tested = pointsOf(25, { rmseZ: 0.04 });
    const aimless = asprs2014.statement(factsOf({ tested }));
    expect(aimless.claimed).toBe(false);
    expect(aimless.sentence).toMatch(/^This data set was tested against ASPRS .* \(2014\)\. Actual NVA/);
    expect(aimless.remarks).toContain('No check point in vegetation: VVA was not tested.');
    const untested = asprs2014.statement(factsOf({ target: 0.1 }));
    expect(untested).toMatchObject({ claimed: false, class: null });
    expect(untested.sentence).toMatch(/^This data set was not tested against .*NVA was not tested\.$/);
    const few = asprs2014.statement(factsOf({ target: 0.1, tested: pointsOf(7, { rmseZ: 0.04 }) }));
    expect(few.claimed).toBe(false);
    expect(few.sentence).toContain(
      'That it meets a 10 cm RMSEz Vertical Accuracy Class is not claimed. 7 check points',
    );
    // The sources of the standard come with those of its conditions.
    expect(aimless.sources.length).toBeGreaterThan(4);
  });
});

import { describe, expect, it } from 'vitest';
import { accuracy3d } from '../../../src/checks/accuracy-3d.js';
import { horizontalAccuracy } from '../../../src/checks/horizontal-accuracy.js';
import { verticalAccuracy } from '../../../src/checks/vertical-accuracy.js';
import type { SurveyPoint } from '../../../src/delivery/survey-points.js';
import type { SurveyHeight } from '../../../src/measure/survey-heights.js';
import { fileOf, judge, noSamples, requirementOf, squareZone, surveyPoint } from '../judge.js';
import { measuredByHand } from '../worked-examples.js';

// Limits that accuracy checks share beside the RMSE. The figures of 0.2 m at 95 %, 0.4 m single, and the RMSE they imply
// (0.10204 m in height by 1.9600, 0.11555 m in plan by 1.7308) are those of the Korean rules on building and updating
// high-definition road maps, annex 1, seen as a picture of the official page.

const files = [fileOf('a.las', 0, { header: { min: [0, 0, 0], max: [100, 100, 1] } as never })];

/** Places on a lattice that fills the hundred metres of the file. */
function spreadOver(count: number): { x: number; y: number }[] {
  const side = Math.ceil(Math.sqrt(count));
  return Array.from({ length: count }, (_, k) => ({
    x: (100 * ((k % side) + 0.5)) / side,
    y: (100 * (Math.floor(k / side) + 0.5)) / side,
  }));
}

function heights(dz: readonly (number | null)[]): SurveyHeight[] {
  return dz.map((v) => ({ dz: v, found: 50, used: 40, reason: v === null ? 'none' : null, perPass: [] }));
}

/** Errors of one size and either sign, and what is wanted after them. */
function swing(count: number, size: number, ...rest: number[]): number[] {
  return [...Array.from({ length: count }, (_, k) => (k % 2 === 0 ? size : -size)), ...rest];
}

function judgeHeights(dz: readonly number[], options: Record<string, unknown>, more: Partial<SurveyPoint>[] = []) {
  const surveyPoints = spreadOver(dz.length).map((place, k) => surveyPoint(`P${k + 1}`, { ...place, ...more[k] }));
  return judge(verticalAccuracy, options, { heights: heights(dz), samples: noSamples }, { surveyPoints, files });
}

function judgePlaces(
  errors: readonly [number, number][],
  options: Record<string, unknown>,
  more: Partial<SurveyPoint> = {},
) {
  const surveyPoints = spreadOver(errors.length).map(({ x, y }, k) =>
    measuredByHand(`P${k + 1}`, [x, y, 5], [...errors[k], null], more),
  );
  return judge(horizontalAccuracy, options, {}, { surveyPoints, files });
}

describe('accuracy at 95 %', () => {
  it('heights: 1.96 times the RMSE, 0.2 m is an RMSE of 0.10204 m', () => {
    const within = judgeHeights(swing(30, 0.102), { maxAt95: 0.2 });
    expect(within.state).toBe('pass');
    expect(within.measured.at95.value).toBeCloseTo(1.96 * 0.102, 12);
    expect(within.limits).toEqual({ at95: { value: 0.2, unit: 'm' }, blunders: { value: 0, unit: 'count' } });
    const beyond = judgeHeights(swing(30, 0.1021), { maxAt95: 0.2 });
    expect(beyond.state).toBe('fail');
    expect(beyond.summary).toContain('RMSE 102.1 mm at 30 check points, at 95 % 200.1 mm (limit 200.0 mm)');
  });

  it('places: 1.7308 times the RMSE of two equal axes, 0.2 m is an RMSE of 0.11555 m', () => {
    const at = (rmse: number) =>
      judgePlaces(
        swing(30, rmse).map((e) => [e * Math.SQRT1_2, e * Math.SQRT1_2]),
        { maxAt95: 0.2 },
      );
    expect(at(0.1155)).toMatchObject({ state: 'pass' });
    expect(at(0.1156)).toMatchObject({ state: 'fail' });
    expect(at(0.1155).measured.at95.value).toBeCloseTo(1.7308 * 0.1155, 5);
  });

  it('places: the exact radius where the axes differ (normal quantile 1.95996 where only one errs)', () => {
    const one = judgePlaces(
      swing(30, 0.03).map((e) => [e, 0]),
      { maxAt95: 0.055 },
    );
    expect(one.measured.at95.value).toBeCloseTo(1.959964 * 0.03, 7);
    expect(one.state).toBe('fail');
  });

  it('places: the formula of the standard that is named (NSSDA 3-A: 2.4477 times half the sum of the two RMSE)', () => {
    const stated = judgePlaces(
      swing(30, 0.03).map((e, k) => [e, (k % 4 < 2 ? 1 : -1) * 0.024]),
      { maxAt95: 0.066, standard: 'nssda-1998' },
    );
    expect(stated.measured.at95.value).toBeCloseTo(2.4477 * 0.5 * (0.03 + 0.024), 9);
    expect(stated.state).toBe('fail');
  });

  it('in space: 1.6140 times the RMSE where the axes are alike (chi-square(0.95, 3) = 7.8147 of any table)', () => {
    const at = (axis: number) => {
      const surveyPoints = swing(30, axis).map((e, k) => measuredByHand(`P${k}`, [k, 0, 5], [e, e, e]));
      return judge(accuracy3d, { maxAt95: 0.05 }, { heights: heights(swing(30, 0)) }, { surveyPoints, files });
    };
    expect(at(0.0178).measured.at95.value).toBeCloseTo(0.0178 * Math.sqrt(7.8147), 6);
    expect(at(0.0178).state).toBe('pass');
    expect(at(0.018).state).toBe('fail');
    expect(at(0).measured.at95.value).toBe(0);
  });

  it('with an RMSE limit too, the tighter one decides', () => {
    expect(judgeHeights(swing(30, 0.05), { maxAt95: 0.2, maxRmse: 0.04 }).state).toBe('fail');
    expect(judgeHeights(swing(30, 0.05), { maxAt95: 0.05, maxRmse: 0.2 }).state).toBe('fail');
    expect(judgeHeights(swing(30, 0.05), { maxAt95: 0.2, maxRmse: 0.06 }).state).toBe('pass');
  });

  it('a guarded decision weighs it like the RMSE: left open where the limit lies within the bounds', () => {
    expect(judgeHeights(swing(30, 0.1), { maxAt95: 0.2, decision: 'guarded' }).state).toBe('undetermined');
    expect(judgeHeights(swing(30, 0.05), { maxAt95: 0.2, decision: 'guarded' }).state).toBe('pass');
    expect(judgeHeights(swing(30, 0.16), { maxAt95: 0.2, decision: 'guarded' }).state).toBe('fail');
  });
});

describe('a single difference beyond its limit', () => {
  const options = { maxAt95: 0.2, maxResidual: 0.4, blunderFactor: 4.5 };

  it('fails by name, whatever the rest is like; at the limit it passes', () => {
    expect(judgeHeights(swing(30, 0.02, 0.4), options)).toMatchObject({
      state: 'pass',
      measured: { largest: { value: 0.4 } },
      limits: { largest: { value: 0.4 } },
    });
    const beyond = judgeHeights(swing(30, 0.02, -0.41), options);
    expect(beyond.state).toBe('fail');
    expect(beyond.summary).toContain('the largest difference, 410.0 mm at P31, exceeds 400.0 mm');
  });

  it('counts blunders too, and fails however few points there are', () => {
    const blunder = judgeHeights(swing(30, 0.02, 0.9), { ...options, maxBlunders: 1 });
    expect(blunder.measured).toMatchObject({ blunders: { value: 1 }, largest: { value: 0.9 } });
    expect(blunder.state).toBe('fail');
    expect(judgeHeights([0.41, ...swing(9, 0.01)], options).state).toBe('fail');
    expect(judgeHeights([0.39, ...swing(9, 0.01)], options).state).toBe('undetermined');
  });

  it('in plan it is the distance, in space the length of all three', () => {
    const plan = (east: number) =>
      judgePlaces([...swing(30, 0.01).map((e): [number, number] => [e, 0]), [east, 0.24]], options);
    expect(plan(0.31).state).toBe('pass');
    expect(plan(0.33)).toMatchObject({ state: 'fail', summary: expect.stringContaining('408.0 mm at P31') });
    const surveyPoints = swing(30, 0.01, 0.2).map((e, k) => measuredByHand(`P${k}`, [k, 0, 5], [e, e, 1.5 * e]));
    const space = judge(
      accuracy3d,
      { ...options, maxAt95: 0.3 },
      { heights: heights(swing(31, 0)) },
      { surveyPoints, files },
    );
    expect(space.measured.largest.value).toBeCloseTo(0.2 * Math.sqrt(4.25), 9);
    expect(space.state).toBe('fail');
  });
});

describe('95th percentile of heights', () => {
  // Sorted errors and their 95th percentile, type 7 by linear interpolation: rank 9.55, 0.09 to 0.30 gives 0.2145.
  const TEN = [0.01, 0.02, 0.03, 0.04, 0.05, 0.06, 0.07, 0.09, 0.11, 0.3];

  it('is judged alone where only it is limited: vegetation, where errors are not normal', () => {
    const options = { maxP95: 0.22, minPoints: 10, surface: 'vegetated', maxBlunders: 9 };
    const vegetated = TEN.map(() => ({ surface: 'vegetated' as const }));
    const verdict = judgeHeights(TEN, { ...options, blunderFactor: 5 }, vegetated);
    expect(verdict.measured.p95.value).toBeCloseTo(0.2145, 9);
    expect(verdict).toMatchObject({ state: 'pass', limits: { p95: { value: 0.22 } } });
    expect(verdict.limits.rmse).toBeUndefined();
    const beyond = judgeHeights(TEN, { ...options, blunderFactor: 5, maxP95: 0.21 }, vegetated);
    expect(beyond).toMatchObject({
      state: 'fail',
      summary: expect.stringContaining('95th percentile 214.5 mm (limit 210.0 mm)'),
    });
  });
});

describe('a standard named', () => {
  it('states the accuracy in the report; without one there is no statement', () => {
    const sigma = Array.from({ length: 36 }, () => ({ sigmaV: 0.005 }));
    const verdict = judgeHeights(swing(36, 0.012), { maxRmse: 0.02, standard: 'asprs-2023' }, sigma);
    expect(verdict.statement).toMatchObject({
      standard: 'asprs-2023',
      claimed: true,
      class: '1.3 cm RMSE_V Vertical Accuracy Class',
      count: { found: 36, asked: 30, met: true },
      spread: { leastShare: 0.25, met: true },
    });
    expect(judgeHeights(swing(36, 0.012), { maxRmse: 0.02 }).statement).toBeUndefined();
  });

  it('decides whether the survey is added: ASPRS 2023 adds it, NSSDA and ASPRS 2014 do not', () => {
    const sigma = Array.from({ length: 36 }, () => ({ sigmaV: 0.009 }));
    const rmse = (standard?: string) =>
      judgeHeights(swing(36, 0.012), { maxRmse: 0.02, ...(standard ? { standard } : {}) }, sigma).measured.rmse.value;
    expect(rmse('asprs-2023')).toBeCloseTo(0.015, 12);
    expect(rmse()).toBeCloseTo(0.015, 12);
    expect(rmse('nssda-1998')).toBeCloseTo(0.012, 12);
    expect(rmse('asprs-2014')).toBeCloseTo(0.012, 12);
  });

  it('heights: NVA of hard ground, VVA of every point in vegetation beside it, whatever surface is judged', () => {
    const dz = [...swing(36, 0.03), ...swing(36, 0.1)];
    const more = dz.map((_, k) => ({ sigmaV: 0, surface: k < 36 ? ('hard' as const) : ('vegetated' as const) }));
    const stated = judgeHeights(dz, { maxRmse: 0.05, standard: 'asprs-2023' }, more).statement!;
    expect(stated.sentence).toContain('NVA accuracy was found to be RMSE_V = 3 cm');
    expect(stated.sentence).toContain('VVA accuracy was found to be RMSE_V = 10 cm.');
    const any = judgeHeights(dz, { maxRmse: 0.2, surface: 'any', standard: 'asprs-2023' }, more).statement!;
    expect(any.sentence).toContain('NVA accuracy was found to be RMSE_V = 3 cm');
    const vegetated = judgeHeights(dz, { maxRmse: 0.2, surface: 'vegetated', standard: 'asprs-2023' }, more).statement!;
    expect(vegetated).toMatchObject({ claimed: false, class: null });
    expect(vegetated.sentence).toContain('not tested for NVA. VVA accuracy was found to be RMSE_V = 10 cm.');
  });

  it('the area is that of the zone, and decides how many points are required', () => {
    const surveyPoints = spreadOver(36).map(({ x, y }, k) =>
      surveyPoint(`P${k}`, { x: x * 1000, y: y * 1000, sigmaV: 0 }),
    );
    const zones = [squareZone('all', 0, 0, 100e3, 100e3)];
    const of = (zone: object, pointTable?: string) =>
      judge(
        verticalAccuracy,
        { maxRmse: 0.05, standard: 'asprs-2023', ...zone, ...(pointTable ? { pointTable } : {}) },
        { heights: heights(swing(36, 0.01)), samples: noSamples },
        { surveyPoints, files, zones },
      ).statement!;
    expect(of({ zone: 'all' }).count.asked).toBe(120);
    expect(of({ zone: 'all' }, 'asprs-2023-draft').count.asked).toBe(70);
    expect(of({ zone: 'all' }, 'nssda-1998').count).toEqual({ found: 36, asked: 20, met: true });
    expect(of({}).count.asked).toBe(30);
  });

  it('a corridor: four stretches along it, where quadrants would stay empty', () => {
    const surveyPoints = Array.from({ length: 32 }, (_, k) =>
      surveyPoint(`P${k}`, { x: 1.5 + 3.1 * k, y: 1.5 + 3.1 * k, sigmaV: 0.001 }),
    );
    const of = (layout: string) =>
      judge(
        verticalAccuracy,
        { maxRmse: 0.05, standard: 'asprs-2023', layout },
        { heights: heights(swing(32, 0.01)), samples: noSamples },
        {
          surveyPoints,
          files,
        },
      ).statement!;
    expect(of('area')).toMatchObject({ claimed: false, spread: { leastShare: 0, met: false } });
    expect(of('corridor')).toMatchObject({ claimed: true, spread: { askedSpacing: null, met: true } });
  });

  it('a check point that is a control point too stands against a claim', () => {
    const points = spreadOver(36).map((place, k) => surveyPoint(`P${k}`, { ...place, sigmaV: 0.001 }));
    const { x, y } = points[4];
    const of = (more: SurveyPoint[]) =>
      judge(
        verticalAccuracy,
        { maxRmse: 0.05, standard: 'asprs-2023' },
        { heights: heights(swing(36 + more.length, 0.01)), samples: noSamples },
        {
          surveyPoints: [...points, ...more],
          files,
        },
      ).statement!;
    const twice = of([surveyPoint('C1', { x: x + 0.01, y, role: 'control' })]);
    expect(twice.claimed).toBe(false);
    expect(twice.departures).toEqual(['Not every check point is independent: P4 is control point C1, 10.0 mm apart.']);
    expect(of([surveyPoint('C1', { x: x + 1, y, role: 'control' })]).claimed).toBe(true);
  });

  it('NSSDA speaks in the unit of the cloud: feet with two decimals for a scale of 0.01', () => {
    const feet = { ...fileOf('a.las', 0, { header: { max: [328, 328, 3], scale: [0.01, 0.01, 0.01] } as never }) };
    const file = { ...feet, horizontalUnit: 0.3048, heightUnit: 1200 / 3937 };
    const surveyPoints = spreadOver(36).map((place, k) => surveyPoint(`P${k}`, { ...place, sigmaV: 0.01 }));
    const options = { maxAt95: 0.3, standard: 'nssda-1998' };
    const verdict = judge(
      verticalAccuracy,
      options,
      { heights: heights(swing(36, 0.1)), samples: noSamples },
      { surveyPoints, files: [file] },
    );
    expect(verdict.statement!.sentence).toBe('Tested 0.64 feet vertical accuracy at 95% confidence level.');
  });

  it('no survey points at all: nothing is stated', () => {
    expect(
      judge(verticalAccuracy, { maxRmse: 0.05, standard: 'asprs-2023' }, { heights: [], samples: noSamples }, { files })
        .statement,
    ).toBeUndefined();
  });

  it('a standard that cannot state a kind of accuracy is refused with the spec', () => {
    expect(() => requirementOf({ check: 'horizontal-accuracy', maxRmse: 0.1, standard: 'nchrp-748' })).toThrow(
      'standard',
    );
    expect(() => requirementOf({ check: 'vertical-accuracy' })).toThrow(/maxRmse/);
  });

  it('is named in the plain words of the spec', () => {
    const words = verticalAccuracy.explain(
      requirementOf({ check: 'vertical-accuracy', maxAt95: 0.2, maxResidual: 0.4, standard: 'nssda-1998' }) as never,
    );
    expect(words).toContain(
      'the accuracy at 95 % confidence (1.96 times the RMSE) must not exceed 200.0 mm, nor a single difference 400.0 mm',
    );
    expect(words).toContain('stated by National Standard for Spatial Data Accuracy');
  });
});

describe('more blunders than accepted fail, whatever else is known', () => {
  it('12 of 40 heights wrong by 0.2 m: named first, although only 28 of the 30 points needed are left', () => {
    const verdict = judgeHeights([...swing(28, 0.004), ...swing(12, 0.2)], { maxRmse: 0.02, minPoints: 30 });
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toMatch(/: 12 blunders \(P29, P30, .*P40\)/);
  });

  it('every place wrong by a metre in its own direction', () => {
    const errors = Array.from({ length: 30 }, (_, k): [number, number] => [
      Math.cos((k * Math.PI) / 15),
      Math.sin((k * Math.PI) / 15),
    ]);
    const verdict = judgePlaces(errors, { maxRmse: 0.02, maxResidual: 0.1 });
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toMatch(/blunders.*exceeds 100\.0 mm/);
    expect(verdict.summary).not.toMatch(/has a place in the cloud/);
  });

  it('in space: the same', () => {
    const sizes = swing(30, 0.4).map((e, k) => (k % 4 < 2 ? e : -e));
    const surveyPoints = sizes.map((e, k) => measuredByHand(`P${k}`, [k, 0, 5], [e, -e, e]));
    const facts = { heights: heights(swing(30, 0)) };
    const verdict = judge(accuracy3d, { maxRmse: 0.02, maxResidual: 0.1 }, facts, { surveyPoints, files });
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toMatch(/30 blunders/);
  });
});

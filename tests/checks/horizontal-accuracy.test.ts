import { describe, expect, it } from 'vitest';
import type { Location } from '../../src/checks/contract/check.js';
import { horizontalAccuracy } from '../../src/checks/horizontal-accuracy.js';
import type { SurveyPoint } from '../../src/delivery/survey-points.js';
import { usualDrives } from '../../src/simulate/scene/drives.js';
import { Random } from '../../src/simulate/scene/random.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet, groundHeight, toWorld } from '../../src/simulate/scene/street.js';
import { type PaintedTarget, spotIntensity } from '../../test-clouds/scene/painted-target.js';
import { deliveryOf, judge, requirementOf, squareZone, surveyPoint } from './judge.js';
import { measureFacts, moved } from './measured-scene.js';
import { ASPRS_2014_D1, measuredByHand, PERS_2014 } from './worked-examples.js';

/** `count` points measured by hand, all off alike, with a little scatter that sums to nothing. */
function series(count: number, dx: number, dy: number, more: Partial<SurveyPoint> = {}): SurveyPoint[] {
  return Array.from({ length: count }, (_, k) => {
    const swing = k % 2 === 0 ? 0.002 : -0.002;
    return measuredByHand(`P${k}`, [1000 + 10 * k, 2000, 5], [dx + swing, dy - swing, null], more);
  });
}

describe('worked examples', () => {
  it('PERS May 2014: RMSE of both axes, standard deviations as printed', () => {
    const verdict = judge(horizontalAccuracy, { maxRmse: 0.13, minPoints: 7 }, {}, { surveyPoints: PERS_2014.points });
    expect(verdict.state).toBe('pass');
    const { measured } = verdict;
    expect(measured.rmseX.value).toBeCloseTo(PERS_2014.rmse[0], 6);
    expect(measured.rmseY.value).toBeCloseTo(PERS_2014.rmse[1], 6);
    expect(measured.rmseH.value).toBeCloseTo(PERS_2014.rmseH, 6);
    expect(Math.abs(measured.stdX.value! - PERS_2014.std[0])).toBeLessThan(0.0005);
    expect(Math.abs(measured.stdY.value! - PERS_2014.std[1])).toBeLessThan(0.0005);
    expect(measured.class.value).toBeCloseTo(0.122, 9);
  });

  it('ASPRS 2014, Table D.1: RMSE_r', () => {
    const verdict = judge(
      horizontalAccuracy,
      { maxRmse: 0.15, minPoints: 5 },
      {},
      {
        surveyPoints: ASPRS_2014_D1.points,
      },
    );
    expect(Math.abs(verdict.measured.rmseX.value! - ASPRS_2014_D1.rmse[0])).toBeLessThan(0.0005);
    expect(Math.abs(verdict.measured.rmseY.value! - ASPRS_2014_D1.rmse[1])).toBeLessThan(0.0006);
    expect(Math.abs(verdict.measured.rmseH.value! - ASPRS_2014_D1.rmseH)).toBeLessThan(0.0005);
  });
});

describe('horizontal-accuracy, judged', () => {
  it('adds the accuracy of the survey in quadrature, per axis times sqrt 2', () => {
    const surveyPoints = series(30, 0.012, 0, { sigmaH: 0.01 });
    const { measured } = judge(horizontalAccuracy, { maxRmse: 0.05 }, {}, { surveyPoints });
    const fit = Math.sqrt(0.012 ** 2 + 2 * 0.002 ** 2);
    expect(measured.rmseFit.value).toBeCloseTo(fit, 9);
    expect(measured.rmseSurvey.value).toBeCloseTo(Math.SQRT2 * 0.01, 9);
    expect(measured.rmseH.value).toBeCloseTo(Math.hypot(fit, Math.SQRT2 * 0.01), 9);
  });

  it('leaves control points and points outside the zone out', () => {
    const control = measuredByHand('C1', [1000, 2000, 5], [3, 3, null], { role: 'control' });
    const surveyPoints = [...series(30, 0.01, 0.01), control, measuredByHand('far', [9000, 2000, 5], [2, 0, null])];
    const zones = [squareZone('road', 900, 1900, 1500, 2100)];
    const verdict = judge(horizontalAccuracy, { maxRmse: 0.03, zone: 'road' }, {}, { surveyPoints, zones });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.n.value).toBe(30);
    expect(verdict.surveyPoints).toHaveLength(32);
  });

  it('names a blunder in one axis, but not the offset of the whole cloud', () => {
    const surveyPoints = [...series(30, 0.2, 0), measuredByHand('B7', [1300, 2050, 5], [0.2, 0.9, null])];
    const verdict = judge(horizontalAccuracy, { maxRmse: 0.25 }, {}, { surveyPoints });
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toContain('1 blunder (B7)');
    expect(verdict.measured.rmseH.value).toBeCloseTo(0.2, 3);
    expect(verdict.surveyPoints!.find(({ id }) => id === 'B7')!.status).toBe('blunder');
    const whole = judge(horizontalAccuracy, { maxRmse: 0.05 }, {}, { surveyPoints: series(30, 0.2, 0) });
    expect(whole.measured.blunders.value).toBe(0);
    expect(whole.state).toBe('fail');
  });

  it('fails on a mean of an axis that is too large', () => {
    const options = { maxRmse: 0.05, maxMean: 0.01 };
    const verdict = judge(horizontalAccuracy, options, {}, { surveyPoints: series(30, 0.02, 0) });
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toContain('the mean of an axis exceeds 10.0 mm');
  });

  it('too few points, no points file, no place in the cloud: undetermined', () => {
    expect(judge(horizontalAccuracy, { maxRmse: 0.05 }, {}, { surveyPoints: series(12, 0.01, 0) }).state).toBe(
      'undetermined',
    );
    expect(judge(horizontalAccuracy, { maxRmse: 0.05 }, {}).state).toBe('undetermined');
    const bare = judge(horizontalAccuracy, { maxRmse: 0.05 }, {}, { surveyPoints: [surveyPoint('A')] });
    expect(bare.summary).toContain('The only check point is without a place in the cloud');
  });

  it('a guarded decision uses the degrees of freedom of both axes', () => {
    // Two like axes at 30 points are 60 degrees of freedom: chi2(0.05, 60) = 43.188 (tables), upper bound 1.1787 RMSE.
    const points = (off: number) => series(30, off, off);
    const of = (off: number, decision: string) =>
      judge(horizontalAccuracy, { maxRmse: 0.05, decision }, {}, { surveyPoints: points(off) });
    const rmse = (off: number) => Math.SQRT2 * Math.hypot(off, 0.002);
    expect(rmse(0.0303) * 1.1787).toBeGreaterThan(0.05);
    expect(of(0.0303, 'guarded').state).toBe('undetermined');
    expect(of(0.0303, 'simple').state).toBe('pass');
    expect(rmse(0.0298) * 1.1787).toBeLessThan(0.05);
    expect(of(0.0298, 'guarded').state).toBe('pass');
  });
});

describe('targets found by the tool on a simulated street', () => {
  const street = createStreet({ headingDegrees: 12, poleSpacing: 0, treeSpacing: 0, left: 'open', right: 'open' });
  const kinds = ['disc', 'checker', 'cross', 'corner'] as const;
  const random = new Random(41);
  const targets = Array.from({ length: 8 }, (_, k): PaintedTarget => {
    const [x, y] = toWorld(street, -7 + 2 * k, random.between(-2.6, 2.6));
    return { kind: kinds[k % 4], size: 0.3, x, y, angle: random.between(0, 6) };
  });
  const cloud = scanToColumns({
    street,
    passes: usualDrives({ passes: 2, density: 700 }),
    from: -9,
    to: 9,
    noise: 0.004,
    seed: 6,
  });
  for (let i = 0; i < cloud.count; i++) {
    const near = targets.find((t) => Math.hypot(t.x - cloud.x[i], t.y - cloud.y[i]) < 0.5);
    if (!near) continue;
    cloud.intensity[i] = spotIntensity(near, cloud.x[i], cloud.y[i], 0.005) + 1500 * random.normal();
  }
  // Heights of the survey are those of the street.
  const surveyed = targets.map((t, k) => {
    const u = -7 + 2 * k;
    const along = (t.x - street.origin[0]) * street.cos + (t.y - street.origin[1]) * street.sin;
    const across = (t.y - street.origin[1]) * street.cos - (t.x - street.origin[0]) * street.sin;
    expect(along).toBeCloseTo(u, 6);
    return surveyPoint(`T${k}`, {
      x: t.x,
      y: t.y,
      z: groundHeight(street, along, across),
      target: t.kind,
      targetSize: t.size,
    });
  });

  function check(points: typeof cloud, surveyPoints = surveyed) {
    const options = { maxRmse: 0.02, minPoints: 8 };
    const delivery = { surveyPoints };
    const requirement = requirementOf({ check: 'horizontal-accuracy', ...options });
    const requests = horizontalAccuracy.needs(requirement as never, { delivery: deliveryOf(delivery) });
    const measured = measureFacts(points, requests);
    return { verdict: judge(horizontalAccuracy, options, measured, delivery), found: measured.targets ?? [] };
  }

  it('every target comes back, all within 5 mm rms, heights within 1 mm', () => {
    const { verdict, found } = check(cloud);
    expect(found.map(({ reason }) => reason)).toEqual(targets.map(() => null));
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.rmseH.value!).toBeLessThan(0.005);
    for (const { dz } of found) expect(Math.abs(dz!)).toBeLessThan(0.001);
  });

  it('a cloud shifted by 40 mm east and 25 mm south shows just that', () => {
    const { verdict } = check(moved(cloud, [0.04, -0.025, 0]));
    expect(verdict.state).toBe('fail');
    const error = (axis: 'X' | 'Y') => (2 * verdict.measured[`std${axis}`].value!) / Math.sqrt(8) + 0.001;
    expect(Math.abs(verdict.measured.meanX.value! - 0.04)).toBeLessThan(error('X'));
    expect(Math.abs(verdict.measured.meanY.value! + 0.025)).toBeLessThan(error('Y'));
  });

  it('each pass has its own place of the target: a pass that is shifted is told', () => {
    const x = cloud.x.map((v, i) => (cloud.pointSourceId[i] === 2 ? v + 0.03 : v));
    const { found } = check({ ...cloud, x });
    const of = (pass: number) =>
      found.map((f) => f.perPass.find((p) => p.pass === pass)!.dx).filter((dx) => dx !== null);
    const mean = (values: number[]) => values.reduce((sum, v) => sum + v, 0) / values.length;
    expect(of(1).length).toBeGreaterThanOrEqual(6);
    expect(of(2).length).toBeGreaterThanOrEqual(6);
    expect(Math.abs(mean(of(2)) - mean(of(1)) - 0.03)).toBeLessThan(0.004);
  });

  it('where there is no target it is refused, with the reason, and never guessed', () => {
    const [x, y] = toWorld(street, 0, 3.2);
    const bare = surveyPoint('bare', { x, y, z: groundHeight(street, 0, 3.2), target: 'checker', targetSize: 0.3 });
    const { verdict } = check(cloud, [...surveyed, bare]);
    const line = verdict.surveyPoints!.find(({ id }) => id === 'bare')!;
    expect(line).toMatchObject({ status: 'no-target', dx: null, dy: null });
    const missing = verdict.evidence.find((e) => e.title === 'Check points without a place in the cloud');
    expect((missing as { items: Location[] }).items[0].note).toMatch(/^bare: nothing/);
  });
});

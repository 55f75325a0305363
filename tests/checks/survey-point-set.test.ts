import { describe, expect, it } from 'vitest';
import { surveyPointSet } from '../../src/checks/survey-point-set.js';
import type { SurveyPoint } from '../../src/delivery/survey-points.js';
import { fileOf, judge, squareZone, surveyPoint } from './judge.js';

const files = [fileOf('a.las', 0, { header: { min: [0, 0, 0], max: [100, 100, 1] } as never })];

/** A grid of side x side points over the area, 100 m by 100 m. */
function grid(side: number, more: Partial<SurveyPoint> = {}): SurveyPoint[] {
  return Array.from({ length: side * side }, (_, k) =>
    surveyPoint(`P${k}`, {
      x: (100 * ((k % side) + 0.5)) / side,
      y: (100 * (Math.floor(k / side) + 0.5)) / side,
      ...more,
    }),
  );
}

const check = (options: Record<string, unknown>, surveyPoints: SurveyPoint[] | null, more = {}) =>
  judge(surveyPointSet, options, {}, { surveyPoints, files, ...more });

describe('survey-point-set', () => {
  it('an even set passes the NSSDA rule of 20 percent in each quadrant and 10 percent of the diagonal', () => {
    const verdict = check({ minPoints: 20, minQuadrantShare: 0.2, minSpacingShare: 0.1 }, grid(6));
    expect(verdict.state).toBe('pass');
    expect(verdict.measured).toMatchObject({
      n: { value: 36 },
      perQuadrantMin: { value: 0.25 },
      doubles: { value: 0 },
    });
    expect(verdict.measured.minSpacing.value).toBeCloseTo(100 / 6, 9);
    expect(verdict.limits.minSpacing.value).toBeCloseTo(Math.hypot(100, 100) / 10, 9);
  });

  it('too few, too near and all in one corner: each is named', () => {
    const corner = grid(5).map((p) => ({ ...p, x: p.x / 4, y: p.y / 4 }));
    const verdict = check({ minQuadrantShare: 0.2, minSpacingShare: 0.1, minSpread: 0.8 }, corner);
    expect(verdict.state).toBe('fail');
    expect(verdict.summary).toContain('25 check points, 30 required');
    expect(verdict.summary).toContain('0.0 % of them in one quarter');
    expect(verdict.summary).toContain('two of them only 5.000 m apart, 14.142 m required');
    expect(verdict.summary).toContain('spread over 20.0 % of the extent');
  });

  it('a check point that is also control, or given twice, is a finding', () => {
    const twice = [
      ...grid(6),
      surveyPoint('C1', { x: 100 / 12 + 0.01, y: 100 / 12, role: 'control' }),
      surveyPoint('again', { x: 25, y: 25.02 }),
      surveyPoint('C2', { x: 90, y: 90, role: 'control' }),
    ];
    const verdict = check({}, twice);
    expect(verdict.state).toBe('fail');
    expect(verdict.measured).toMatchObject({ doubles: { value: 2 }, control: { value: 2 } });
    const places = verdict.evidence[0] as { items: { note: string }[] };
    expect(places.items.map(({ note }) => note)).toEqual([
      'P0 is control point C1, 10.0 mm apart',
      'again is P7, 20.0 mm apart',
    ]);
    expect(verdict.advice[0]).toContain('served as control');
  });

  it('a survey that is not good enough for the class, or says nothing of itself', () => {
    const options = { verticalClass: 0.02, horizontalClass: 0.05 };
    const good = check(options, grid(6, { sigmaV: 0.009, sigmaH: 0.015 }));
    expect(good.state).toBe('pass');
    // Both axes together: sqrt(2) times 15 mm.
    expect(good.measured.surveyH.value).toBeCloseTo(0.015 * Math.SQRT2, 12);
    const poor = check(options, grid(6, { sigmaV: 0.012, sigmaH: 0.015 }));
    expect(poor.state).toBe('fail');
    expect(poor.summary).toContain('surveyed to 12.0 mm in height, 10.0 mm required');
    // Three times as good, as the edition of 2014 required.
    expect(check({ ...options, surveyFactor: 3 }, grid(6, { sigmaV: 0.009, sigmaH: 0.011 })).state).toBe('fail');
    const silent = check(options, [
      ...grid(6, { sigmaV: 0.009, sigmaH: 0.01 }).slice(1),
      surveyPoint('X', { x: 1, y: 1 }),
    ]);
    expect(silent.state).toBe('undetermined');
    expect(silent.advice[0]).toContain('sigma_h and sigma_v');
  });

  it('a survey that is too poor in x and y fails, whatever its heights are worth', () => {
    const options = { verticalClass: 0.02, horizontalClass: 0.05 };
    // Half of 50 mm is 25 mm for both axes together: 17.67 mm each axis is the most.
    expect(check(options, grid(6, { sigmaV: 0.005, sigmaH: 0.0176 })).state).toBe('pass');
    const poor = check(options, grid(6, { sigmaV: 0.005, sigmaH: 0.0178 }));
    expect(poor.state).toBe('fail');
    expect(poor.limits.surveyH.value).toBeCloseTo(0.025, 12);
    expect(check({ horizontalClass: 0.05 }, grid(6, { sigmaH: 0.0178 })).state).toBe('fail');
  });

  it('exactly 20 percent in a quadrant is enough, one point less is not (NSSDA, appendix 3-C)', () => {
    const quadrant = (count: number, x: number, y: number) =>
      Array.from({ length: count }, (_, k) => surveyPoint(`Q${x}-${y}-${k}`, { x: x + 2 * k, y: y + (k % 3) }));
    const set = (least: number) => [
      ...quadrant(least, 5, 5),
      ...quadrant(8, 55, 5),
      ...quadrant(8, 5, 55),
      ...quadrant(30 - 16 - least, 55, 55),
    ];
    expect(check({ minQuadrantShare: 0.2 }, set(6)).state).toBe('pass');
    expect(check({ minQuadrantShare: 0.2 }, set(6)).measured.perQuadrantMin.value).toBe(0.2);
    expect(check({ minQuadrantShare: 0.2 }, set(5)).state).toBe('fail');
  });

  it('counts by surface and inside the zone', () => {
    const mixed = [...grid(6), ...grid(3, { surface: 'vegetated' }).map((p) => ({ ...p, id: `V${p.id}`, x: p.x + 1 }))];
    expect(check({ surface: 'hard' }, mixed).measured.n.value).toBe(36);
    expect(check({ surface: 'vegetated', minPoints: 5 }, mixed).measured.n.value).toBe(9);
    const zones = [squareZone('west', 0, 0, 50, 100)];
    // One of three columns lies west of the middle of the zone: 3 of 18 points in each of its western quadrants.
    const verdict = check({ minPoints: 10, zone: 'west', minQuadrantShare: 0.16 }, grid(6), { zones });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured.n.value).toBe(18);
  });

  it('advises the corridor where two quadrants are empty', () => {
    const road = Array.from({ length: 40 }, (_, k) => surveyPoint(`R${k}`, { x: 1.25 + 2.5 * k, y: 1 + 2.45 * k }));
    const area = check({ minQuadrantShare: 0.2 }, road);
    expect(area.state).toBe('fail');
    expect(area.advice.join(' ')).toContain('"layout": "corridor"');
    expect(check({ minQuadrantShare: 0.2, layout: 'corridor' }, road).state).toBe('pass');
  });

  it('without points, or without an extent to spread over, nothing can be said', () => {
    expect(check({}, null).state).toBe('undetermined');
    expect(check({ minQuadrantShare: 0.2 }, grid(6), { files: [] }).state).toBe('undetermined');
    expect(check({}, grid(6), { files: [] }).state).toBe('pass');
  });

  it('extents in feet are compared in metres', () => {
    const feet = files.map((file) => ({
      ...file,
      horizontalUnit: 0.3048,
      header: { ...file.header!, max: [100 / 0.3048, 100 / 0.3048, 1] as [number, number, number] },
    }));
    expect(check({ minQuadrantShare: 0.2 }, grid(6), { files: feet }).measured.perQuadrantMin.value).toBe(0.25);
  });
});

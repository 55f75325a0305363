import { describe, expect, it } from 'vitest';
import { controlSpacing } from '../../src/checks/control-spacing.js';
import type { Route } from '../../src/delivery/route.js';
import type { Drive } from '../../src/delivery/trajectory.js';
import { judge, surveyPoint } from './judge.js';

/** A line due east of 2 km. */
const route: Route = {
  notation: '3+250',
  metresPerUnit: 1,
  notes: [],
  lines: [
    {
      name: 'Axis',
      x: Float64Array.of(0, 2000),
      y: Float64Array.of(0, 0),
      distance: Float64Array.of(0, 2000),
      startStation: 0,
      equations: [],
      direction: null,
      lanes: null,
      plannedPasses: null,
    },
  ],
};

/** Control points every 400 m from 100 m on, check points 200 m after each. */
const survey = Array.from({ length: 5 }, (_, i) => [
  surveyPoint(`C${i}`, { role: 'control', x: 100 + 400 * i, y: 4 }),
  surveyPoint(`K${i}`, { role: 'check', x: 300 + 400 * i, y: -4 }),
]).flat();

const judged = (options: object, more: object = {}) =>
  judge(controlSpacing, options as Record<string, unknown>, {}, { route, surveyPoints: survey, ...more });

describe('control-spacing', () => {
  it('measures the longest stretch without a point, the ends of the line counted', () => {
    const verdict = judged({ maxSpacing: 200 });
    expect(verdict.state).toBe('pass');
    // 10 points on 2 km; between points 200 m, at the ends 100 m; without the control points 400 m.
    expect(verdict.measured).toMatchObject({
      spacing: { value: 200 },
      controlSpacing: { value: 400 },
      checkSpacing: { value: 400 },
      perKm: { value: 5 },
      checkShare: { value: 0.5 },
      control: { value: 5 },
      check: { value: 5 },
    });
    expect(judged({ maxSpacing: 199 }).state).toBe('fail');
  });

  // US state rules as reviewed in ISPRS Annals II-3/W5, 105: transformation targets every 450 m, validation every 150 m.
  it('judges control and check points by limits of their own', () => {
    expect(judged({ maxControlSpacing: 450 }).state).toBe('pass');
    const verdict = judged({ maxControlSpacing: 450, maxCheckSpacing: 150 });
    expect(verdict.state).toBe('fail');
    const [places] = verdict.evidence.filter((e) => e.kind === 'locations');
    expect(places.items[0]).toMatchObject({ value: 400, note: 'middle of a stretch of Axis without a check point' });
  });

  // Korean rules for HD road maps, article 18: one point per km on average, one in five a check point.
  it('judges number per kilometre and the share of check points', () => {
    expect(judged({ minPerKm: 1, minCheckShare: 0.2 }).state).toBe('pass');
    const few = { surveyPoints: [survey[0], surveyPoint('far', { x: 1000, y: 500 })] };
    const verdict = judged({ minPerKm: 1, minCheckShare: 0.2 }, few);
    expect(verdict.state).toBe('fail');
    expect(verdict.measured).toMatchObject({ perKm: { value: 0.5 }, checkShare: { value: 0 }, control: { value: 1 } });
  });

  it('judges the distance from check to control points, and the surface', () => {
    expect(judged({ minCheckDistance: 200 }).state).toBe('pass');
    const close = [...survey, surveyPoint('near', { x: 130, y: 4, surface: 'vegetated' })];
    const verdict = judged({ minCheckDistance: 200, hardSurface: true }, { surveyPoints: close });
    expect(verdict.state).toBe('fail');
    expect(verdict.measured).toMatchObject({ checkDistance: { value: 30 }, notHard: { value: 1 } });
  });

  it('asks for a point where reception was lost', () => {
    const n = 200;
    const driveWith = (lostFrom: number, lostTo: number) => ({
      name: 'drive 1',
      epochs: n,
      time: Float64Array.from({ length: n }, (_, i) => i),
      x: Float64Array.from({ length: n }, (_, i) => 10 * i),
      y: new Float64Array(n),
      solution: Uint8Array.from({ length: n }, (_, i) => (i >= lostFrom && i < lostTo ? 1 : 5)),
      satellites: null,
    });
    const run = (from: number, to: number) =>
      judged({ outageSeconds: 10 }, { trajectory: { drives: [driveWith(from, to) as unknown as Drive], notes: [] } });
    // Lost from 140 to 260 m: no point there within 30 m. From 280 to 420 m the check point at 300 m is passed.
    const without = run(14, 26);
    expect(without.state).toBe('fail');
    expect(without.measured.outagesWithout.value).toBe(1);
    expect(run(28, 42).state).toBe('pass');
    expect(run(14, 20).state).toBe('pass');
    expect(judged({ outageSeconds: 10 }).state).toBe('undetermined');
  });

  it('is undetermined without a route or points', () => {
    expect(judged({ maxSpacing: 500 }, { route: null }).state).toBe('undetermined');
    expect(judged({ maxSpacing: 500 }, { surveyPoints: null }).state).toBe('undetermined');
  });

  it('a route without any point is one stretch', () => {
    const verdict = judged({ maxSpacing: 500 }, { surveyPoints: [] });
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.spacing.value).toBe(2000);
  });
});

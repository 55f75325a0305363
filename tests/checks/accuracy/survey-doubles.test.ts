import { expect, it } from 'vitest';
import { findDoubles } from '../../../src/checks/accuracy/survey-quality.js';
import type { SurveyPoint } from '../../../src/delivery/survey-points.js';

const point = (id: number, x: number): SurveyPoint =>
  ({ id: `P${id}`, role: id % 3 === 0 ? 'control' : 'check', x, y: 5_932_200, z: 0 }) as SurveyPoint;

it('300,000 points at one place are compared in seconds, and each is named with the first of them', () => {
  const points = Array.from({ length: 300_000 }, (_, i) => point(i, 561_000));
  const checks = points.filter(({ role }) => role === 'check');
  const begun = performance.now();
  const found = findDoubles(checks, points, 0.5);
  expect(performance.now() - begun).toBeLessThan(10_000);
  expect(found).toHaveLength(checks.length);
  expect(new Set(found.map(({ other }) => other.id))).toEqual(new Set(['P0']));
});

it('the nearest one is named, of equals the first, whichever square it lies in', () => {
  // The definition, written out: every other point, without later check points.
  const points = Array.from({ length: 60 }, (_, i) => point(i, 561_000 + ((i * 37) % 23) * 0.2));
  const checks = points.filter(({ role }) => role === 'check');
  const expected = checks.flatMap((one) => {
    const own = points.indexOf(one);
    const near = points
      .map((other, i) => ({ i, distance: Math.hypot(other.x - one.x, other.y - one.y) }))
      .filter(({ i, distance }) => i !== own && distance <= 0.5 && !(points[i].role === 'check' && i > own))
      .sort((a, b) => a.distance - b.distance || a.i - b.i);
    return near.length > 0 ? [[one.id, points[near[0].i].id]] : [];
  });
  expect(findDoubles(checks, points, 0.5).map(({ point, other }) => [point.id, other.id])).toEqual(expected);
});

import { describe, expect, it } from 'vitest';
import type { LocationNeighbourhoods } from '../../src/measure/survey/location-neighbourhoods.js';
import { type HeightMethod, surveyHeights } from '../../src/measure/survey-heights.js';
import { surveyNeighbourhoods } from '../../src/measure/survey-neighbourhoods.js';
import { measureFiles, ORIGIN, type TestPoint } from './point-batches.js';

const params = {
  points: [
    { x: ORIGIN[0], y: ORIGIN[1], z: 5 },
    { x: ORIGIN[0] + 50, y: ORIGIN[1], z: 5 },
  ],
  radius: 1,
  classes: null,
  most: 1000,
  method: 'plane' as HeightMethod,
  minPoints: 6,
};

/** 49 points around the first surveyed place, `above` metres over it in its middle, on a slope. */
const ground = (source: number, above: number, step = 0.2): TestPoint[] =>
  Array.from({ length: 49 }, (_, k) => {
    const [x, y] = [((k % 7) - 3) * step, (Math.floor(k / 7) - 3) * step];
    return { x, y, z: 5 + above + 0.1 * x - 0.05 * y, source };
  });

function heights(points: TestPoint[], more: Partial<typeof params> = {}) {
  const asked = { ...params, ...more };
  const { measurement, params: own } = surveyHeights.from(asked);
  expect(measurement).toBe(surveyNeighbourhoods.id);
  return surveyHeights.derive(measureFiles(surveyNeighbourhoods, own, [points]) as LocationNeighbourhoods, asked);
}

describe('heights over surveyed points', () => {
  it.each(['plane', 'tin', 'idw'] as const)('a cloud 30 mm above the survey, by %s', (method) => {
    const [here, far] = heights(ground(1, 0.03), { method });
    expect(here.dz).toBeCloseTo(0.03, 4);
    expect(here.reason).toBeNull();
    expect(here.perPass).toHaveLength(1);
    expect(far).toEqual({ dz: null, used: 0, reason: 'no cloud point within 1 m', found: 0, perPass: [] });
  });

  it('the mean of two passes is weighted by their points', () => {
    const few = ground(2, 0.06).filter((_, k) => k % 2 === 0);
    const [{ dz, perPass, found }] = heights([...ground(1, 0.03), ...few]);
    // Within 1 m are all 49 points of the first pass (0.6 m in x and y are 0.85 m), and 25 of the second.
    expect(perPass.map(({ pass, n }) => [pass, n])).toEqual([
      [1, 49],
      [2, 25],
    ]);
    expect(found).toBe(74);
    expect(dz).toBeCloseTo((49 * 0.03 + 25 * 0.06) / 74, 4);
    expect(perPass[1].dz).toBeCloseTo(0.06, 4);
  });

  it('too few points, or points on one side only, give no height but the reason', () => {
    expect(heights(ground(1, 0).slice(0, 5))[0]).toMatchObject({
      dz: null,
      reason: 'only 5 cloud points within 1 m, 6 needed',
    });
    const oneSide = ground(1, 0).map((p) => ({ ...p, x: Math.abs(p.x) + 0.05, y: Math.abs(p.y) / 2 + 0.05 }));
    expect(heights(oneSide)[0]).toMatchObject({ dz: null, reason: 'cloud points lie on one side of the point only' });
    expect(heights(oneSide, { method: 'tin' })[0].reason).toContain('outside the triangles');
  });

  it.each(['plane', 'tin', 'idw'] as const)(
    'in a tunnel the surface nearest the surveyed height counts, by %s',
    (method) => {
      // A carriageway 30 mm above the survey in part of the circle, and a ceiling 4.5 m above it everywhere.
      const road = ground(1, 0.03).filter((_, k) => k % 7 > 1);
      const ceiling = ground(2, 4.53, 0.15);
      const [{ dz, surfaces, perPass }] = heights([...road, ...ceiling, ...ground(1, 4.53)], { method });
      expect(dz).toBeCloseTo(0.03, 3);
      expect(surfaces).toEqual([expect.closeTo(0.03, 1), expect.closeTo(4.53, 1)]);
      expect(perPass[0].dz).toBeCloseTo(0.03, 3);
      expect(perPass[1]).toMatchObject({ pass: 2, dz: null });
    },
  );

  it('a point surveyed on the upper of two surfaces is compared with that one', () => {
    const [{ dz }] = heights([...ground(1, 0.03), ...ground(1, -4.97)]);
    expect(dz).toBeCloseTo(0.03, 4);
  });

  it('a gross error stays: with one surface, and with two that are both far from the survey', () => {
    const [one] = heights(ground(1, 1));
    expect(one.dz).toBeCloseTo(1, 4);
    expect(one.surfaces).toBeUndefined();
    expect(heights([...ground(1, 1), ...ground(1, 5.5)])[0].dz).toBeCloseTo(1, 4);
  });

  it('leaves 1.5 m above the ground, and a wall beside it, are no second surface', () => {
    const leaves = heights([...ground(1, 0.02), ...ground(1, 1.52)])[0];
    expect(leaves.dz).toBeCloseTo(0.02, 4);
    expect(leaves.surfaces).toBeUndefined();
    const wall = Array.from({ length: 400 }, (_, k) => ({
      x: 0.7,
      y: ((k % 20) - 10) * 0.05,
      z: 5 + Math.floor(k / 20) * 0.25,
      source: 1,
    }));
    expect(heights([...ground(1, 0.02), ...wall])[0].surfaces).toBeUndefined();
  });
});

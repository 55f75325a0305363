import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Curve, curveVertices, headingAt } from '../../src/geometry/curve.js';

const curve = (more: Partial<Curve>): Curve => ({
  x: 0,
  y: 0,
  heading: 0,
  startCurvature: 0,
  endCurvature: 0,
  length: 1,
  ...more,
});

/** End of a curve by the midpoint rule in many short steps: another method than the quadrature of the program. */
function endByShortSteps(c: Curve, steps: number): [number, number] {
  let [x, y] = [c.x, c.y];
  const step = c.length / steps;
  for (let i = 0; i < steps; i++) {
    const s = (i + 0.5) * step;
    const direction = c.heading + c.startCurvature * s + ((c.endCurvature - c.startCurvature) * s * s) / (2 * c.length);
    x += step * Math.cos(direction);
    y += step * Math.sin(direction);
  }
  return [x, y];
}

describe('curve', () => {
  it('a line has two vertices', () => {
    const { x, y, distance } = curveVertices(curve({ x: 5, y: 7, heading: Math.PI / 2, length: 30 }), 0.001);
    expect(x).toHaveLength(2);
    expect(x[1]).toBeCloseTo(5, 12);
    expect(y[1]).toBeCloseTo(37, 12);
    expect(distance).toEqual([0, 30]);
  });

  it('an arc lies on its circle, has the length of the arc, and no chord is farther from it than the tolerance', () => {
    const r = 250;
    const { x, y, distance } = curveVertices(
      curve({ heading: Math.PI / 2, x: r, startCurvature: 1 / r, endCurvature: 1 / r, length: (r * Math.PI) / 2 }),
      0.001,
    );
    x.forEach((_, i) => {
      expect(Math.hypot(x[i], y[i])).toBeCloseTo(r, 9);
      expect(Math.atan2(y[i], x[i]) * r).toBeCloseTo(distance[i], 8);
      if (i > 0) expect(r - Math.hypot((x[i] + x[i - 1]) / 2, (y[i] + y[i - 1]) / 2)).toBeLessThanOrEqual(0.001);
    });
    expect(x.at(-1)).toBeCloseTo(0, 9);
    expect(y.at(-1)).toBeCloseTo(r, 9);
  });

  it('a clothoid of A = 1 ends at the Fresnel integrals of its length', () => {
    // Abramowitz and Stegun 1964, table 7.7: C(1) = 0.7798934, S(1) = 0.4382591, where the direction at u is pi u² / 2.
    const end = curveVertices(curve({ endCurvature: Math.PI, length: 1 }), 1e-6);
    expect(end.x.at(-1)).toBeCloseTo(0.7798934, 7);
    expect(end.y.at(-1)).toBeCloseTo(0.4382591, 7);
  });

  it('every spiral ends where many short steps end', () => {
    fc.assert(
      fc.property(
        fc.double({ min: -0.02, max: 0.02, noNaN: true }),
        fc.double({ min: -0.02, max: 0.02, noNaN: true }),
        fc.double({ min: 1, max: 300, noNaN: true }),
        fc.double({ min: -Math.PI, max: Math.PI, noNaN: true }),
        (startCurvature, endCurvature, length, heading) => {
          const c = curve({ startCurvature, endCurvature, length, heading });
          const [x, y] = endByShortSteps(c, 4000);
          const { x: xs, y: ys } = curveVertices(c, 0.001);
          expect(Math.hypot(xs.at(-1)! - x, ys.at(-1)! - y)).toBeLessThan(1e-4);
          expect(headingAt(c, length)).toBeCloseTo(heading + ((startCurvature + endCurvature) / 2) * length, 9);
        },
      ),
      { numRuns: 40, seed: 5 },
    );
  });

  it('refuses a curve without length', () => {
    expect(() => curveVertices(curve({ length: 0 }), 0.001)).toThrow(RangeError);
    expect(() => curveVertices(curve({ length: Number.NaN }), 0.001)).toThrow(RangeError);
  });
});

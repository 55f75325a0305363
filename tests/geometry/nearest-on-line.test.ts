import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { curveVertices } from '../../src/geometry/curve.js';
import { LineIndex, pointAt } from '../../src/geometry/nearest-on-line.js';

function lineOf(...xy: [number, number][]) {
  const x = Float64Array.from(xy, ([e]) => e);
  const y = Float64Array.from(xy, ([, n]) => n);
  const distance = new Float64Array(x.length);
  for (let i = 1; i < x.length; i++) distance[i] = distance[i - 1] + Math.hypot(x[i] - x[i - 1], y[i] - y[i - 1]);
  return { x, y, distance };
}

/** Smallest distance to any segment, each looked at. */
function bruteForce({ x, y }: ReturnType<typeof lineOf>, px: number, py: number): number {
  let best = Infinity;
  for (let i = 0; i + 1 < x.length; i++) {
    const [dx, dy] = [x[i + 1] - x[i], y[i + 1] - y[i]];
    const t = dx === 0 && dy === 0 ? 0 : ((px - x[i]) * dx + (py - y[i]) * dy) / (dx * dx + dy * dy);
    const s = Math.min(1, Math.max(0, t));
    best = Math.min(best, Math.hypot(px - x[i] - s * dx, py - y[i] - s * dy));
  }
  return best;
}

describe('nearest point of a line', () => {
  it('right of the line is positive, left negative', () => {
    const north = new LineIndex(lineOf([100, 0], [100, 50]));
    expect(north.nearest(103, 20)).toEqual({ distance: 20, offset: 3, beyond: 0, gap: 3 });
    expect(north.nearest(98, 20)).toEqual({ distance: 20, offset: -2, beyond: 0, gap: 2 });
    const south = new LineIndex(lineOf([100, 50], [100, 0]));
    expect(south.nearest(103, 20)?.offset).toBe(-3);
  });

  it('says how far a place is before the begin or after the end', () => {
    const line = new LineIndex(lineOf([0, 0], [10, 0]));
    expect(line.nearest(14, 3)).toEqual({ distance: 10, offset: -3, beyond: 4, gap: 5 });
    expect(line.nearest(-6, -8)).toEqual({ distance: 0, offset: 8, beyond: 6, gap: 10 });
  });

  it('at the outside of a corner the sign is that of the side, up to a turn back', () => {
    for (const turn of [-170, -100, -30, 30, 100, 170]) {
      const angle = (turn * Math.PI) / 180;
      const line = new LineIndex(lineOf([-100, 0], [0, 0], [100 * Math.cos(angle), 100 * Math.sin(angle)]));
      // The outside of a corner is opposite to the turn, across the mean direction.
      const out = angle / 2 - Math.sign(angle) * (Math.PI / 2);
      const found = line.nearest(5 * Math.cos(out), 5 * Math.sin(out));
      expect(found?.distance).toBeCloseTo(100, 9);
      expect(found?.offset).toBeCloseTo(Math.sign(turn) * 5, 9);
    }
  });

  it('is the smallest distance to any segment, for random lines with equal vertices among them', () => {
    const place = fc.tuple(fc.integer({ min: -50, max: 50 }), fc.integer({ min: -50, max: 50 }));
    fc.assert(
      fc.property(fc.array(place, { minLength: 2, maxLength: 60 }), place, (xy, [px, py]) => {
        const line = lineOf(...xy);
        const found = new LineIndex(line).nearest(px, py)!;
        expect(found.gap).toBeCloseTo(bruteForce(line, px, py), 9);
        const on = pointAt(line, found.distance);
        expect(Math.hypot(on.x - px, on.y - py)).toBeCloseTo(found.gap, 9);
      }),
      { numRuns: 300, seed: 2 },
    );
  });

  it('round trip: a place beside a curve comes back as its distance and offset, to a millimetre', () => {
    const arc = { x: 560000, y: 5930000, heading: 0.3, startCurvature: 0, endCurvature: 1 / 80, length: 120 };
    const { x, y, distance } = curveVertices(arc, 0.001);
    const line = { x: Float64Array.from(x), y: Float64Array.from(y), distance: Float64Array.from(distance) };
    const index = new LineIndex(line);
    fc.assert(
      fc.property(
        fc.double({ min: 1, max: 119, noNaN: true }),
        fc.double({ min: -20, max: 20, noNaN: true }),
        (at, offset) => {
          const { x: cx, y: cy, ux, uy } = pointAt(line, at);
          const found = index.nearest(cx + offset * uy, cy - offset * ux)!;
          expect(Math.abs(found.offset - offset)).toBeLessThan(0.0021);
          // Across a chord the distance along the curve is known to the chord: half of it, at most 0.4 m times offset over radius.
          expect(Math.abs(found.distance - at)).toBeLessThan(0.15);
        },
      ),
      { numRuns: 200, seed: 3 },
    );
  });

  it('looks at few segments of a long line', () => {
    const n = 100_000;
    const line = {
      x: Float64Array.from({ length: n }, (_, i) => i),
      y: Float64Array.from({ length: n }, (_, i) => 40 * Math.sin(i / 300)),
      distance: Float64Array.from({ length: n }, (_, i) => i),
    };
    let reads = 0;
    const counted = new Proxy(line.x, {
      get(target, key) {
        if (typeof key === 'string' && /^\d+$/.test(key)) reads++;
        const value = Reflect.get(target, key, target);
        return typeof value === 'function' ? value.bind(target) : value;
      },
    });
    const index = new LineIndex({ ...line, x: counted });
    reads = 0;
    expect(index.nearest(54_321, 10)).not.toBeNull();
    expect(reads).toBeLessThan(1000);
  });

  it('finds nothing farther away than asked', () => {
    const line = new LineIndex(lineOf([0, 0], [10, 0]));
    expect(line.nearest(5, 8, 7.9)).toBeNull();
    expect(line.nearest(5, 8, 8.1)?.gap).toBe(8);
  });
});

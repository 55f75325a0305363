import { describe, expect, it } from 'vitest';
import { planOffsetOneWay } from '../../../src/checks/advice/plan-offset-one-way.js';

/** Points about a place, moved by a vector, with a scatter to either side along both axes. */
function moved(dx: number, dy: number, scatter: number, n = 10, limit = 0.05) {
  const points = Array.from({ length: n }, (_, i) => ({
    id: `P${i}`,
    x: 561_000 + 20 * i,
    y: 5_932_000 + 7 * i,
    dx: dx + (i % 2 === 0 ? scatter : -scatter),
    dy: dy + (i % 4 < 2 ? scatter : -scatter),
  }));
  return { limit, points };
}

describe('plan-offset-one-way', () => {
  it('names a vector common to all points', () => {
    const advice = planOffsetOneWay.advise(moved(0.12, -0.05, 0.01, 12))!;
    expect(advice.text).toContain('12 of 12 check points');
    expect(advice.text).toContain('+120.0 mm east and -50.0 mm north');
    expect(advice.text).toContain('epoch');
    expect(advice.figures.share.value).toBe(1);
  });

  it('is quiet for differences that point every way, however large', () => {
    expect(planOffsetOneWay.advise(moved(0, 0, 0.2))).toBeNull();
    expect(planOffsetOneWay.advise(moved(0.05, 0.05, 0.2, 200))).toBeNull();
  });

  it('is quiet below a quarter of the limit (ASPRS edition 2, 7.2), and at two points', () => {
    expect(planOffsetOneWay.advise(moved(0.012, 0, 0.001, 12))).toBeNull();
    expect(planOffsetOneWay.advise(moved(0.013, 0, 0.001, 12))).not.toBeNull();
    expect(planOffsetOneWay.advise(moved(0.12, 0, 0.001, 2))).toBeNull();
  });

  it('leaves the two kinds of foot to their own rule', () => {
    const { limit, points } = moved(0, 0, 0.001);
    const ratio = 1200 / 3937 / 0.3048 - 1;
    const feet = points.map((p) => ({ ...p, dx: p.x * ratio, dy: p.y * ratio }));
    expect(planOffsetOneWay.advise({ limit, points: feet })).toBeNull();
  });
});

import { describe, expect, it } from 'vitest';
import { footForFootRule } from '../../../src/checks/advice/foot-for-foot.js';

/** Coordinates of a state plane's size, 600 and 900 km from the origin, in the cloud times a ratio. */
function times(ratio: number, more: { dx?: number; dy?: number } = {}) {
  const points = Array.from({ length: 6 }, (_, i) => {
    const [x, y] = [600_000 + 50 * i, 900_000 - 30 * i];
    return { id: `P${i}`, x, y, dx: (ratio - 1) * x + (more.dx ?? 0), dy: (ratio - 1) * y + (more.dy ?? 0) };
  });
  return { limit: 0.05, points };
}

// Both feet are exact by definition: 1200/3937 m against 0.3048 m, 2 parts in a million more.
const US_OVER_INTERNATIONAL = 1200 / 3937 / 0.3048;

describe('foot-for-foot', () => {
  it('tells the two feet by their two parts in a million', () => {
    const advice = footForFootRule.advise(times(US_OVER_INTERNATIONAL))!;
    // 2 ppm of sqrt(600^2 + 900^2) km = 1081.7 km
    expect(advice.figures.size.value).toBeCloseTo(2.163, 2);
    expect(advice.text).toContain('away from the origin of the coordinates by 2.00 parts in a million');
    expect(footForFootRule.advise(times(1 / US_OVER_INTERNATIONAL))!.text).toContain('towards the origin');
  });

  it('is quiet for the same size in another direction, another ratio, or differences within the limit', () => {
    expect(footForFootRule.advise(times(1, { dx: 1.8, dy: -1.2 }))).toBeNull();
    expect(footForFootRule.advise(times(1 + 2.5e-6))).toBeNull();
    const small = times(US_OVER_INTERNATIONAL);
    const near = small.points.map((p) => ({ ...p, x: p.x / 1e5, y: p.y / 1e5, dx: p.dx / 1e5, dy: p.dy / 1e5 }));
    expect(footForFootRule.advise({ ...small, points: near })).toBeNull();
  });
});

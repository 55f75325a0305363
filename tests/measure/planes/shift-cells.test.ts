import { describe, expect, it } from 'vitest';
import type { PassPairs } from '../../../src/measure/pass-pairs.js';
import { usualDrives } from '../../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../../src/simulate/scene/scanner.js';
import { createStreet, type Street } from '../../../src/simulate/scene/street.js';
import { measureScene } from '../../checks/measured-scene.js';

// The scene is analytic: what was planted is the outside truth. 6 mm noise along the surface normal.

const ORIGIN = [561_000, 5_932_000] as const;
const STRETCH = 20;

/** Two passes of a street; what the second saw north of `from` is moved. */
function compare(street: Street, shift: readonly [number, number], from = Number.NEGATIVE_INFINITY) {
  const passes = usualDrives({ passes: 2, density: 150 });
  const points = scanToColumns({ street, passes, from: -40, to: 40, noise: 0.006, seed: 5 });
  for (let i = 0; i < points.count; i++) {
    if (points.pointSourceId[i] !== 2 || points.y[i] < ORIGIN[1] + from) continue;
    points.x[i] += shift[0];
    points.y[i] += shift[1];
  }
  const params = { voxel: 0.5, minPoints: 10, area: null, stretch: STRETCH };
  const [{ pairs }] = measureScene(points, [{ measurement: 'pass-pairs', params }], { scale: 0.001 }) as [PassPairs];
  return pairs[0].stretches!;
}

const street = createStreet({ origin: ORIGIN, headingDegrees: 23 });

describe('differences in plan, square by square', () => {
  it('of a pass that is shifted as a whole are the shift, wherever both directions show', () => {
    const stretches = compare(street, [0.04, -0.03]);
    const whole = stretches.filter((s) => s.whole);
    expect(whole.length).toBeGreaterThan(3);
    for (const { offset, std } of whole) {
      expect(Math.abs(offset - 0.05)).toBeLessThan(Math.max(0.001, 2 * std));
      expect(std).toBeLessThan(0.005);
    }
    // One direction shows a part of it, and never more.
    for (const { offset, std } of stretches) expect(offset).toBeLessThan(0.05 + Math.max(0.001, 2 * std));
  });

  it('show where a pass parts from the other, which the mean of the pair hides', () => {
    const stretches = compare(street, [0.12, 0.09], 0);
    const north = stretches.filter(({ y, whole }) => whole && y > ORIGIN[1]);
    const south = stretches.filter(({ y }) => y < ORIGIN[1]);
    expect(north.length).toBeGreaterThan(0);
    expect(south.length).toBeGreaterThan(2);
    for (const { offset } of north) expect(Math.abs(offset - 0.15)).toBeLessThan(0.002);
    for (const { offset, std } of south) expect(offset).toBeLessThan(Math.max(0.002, 3 * std));
  });

  it('are not made up for a bare road', () => {
    const bare = createStreet({
      origin: ORIGIN,
      headingDegrees: 23,
      left: 'open',
      right: 'open',
      poleSpacing: 0,
      treeSpacing: 0,
    });
    expect(compare(bare, [0.04, -0.03]).filter((s) => s.whole)).toEqual([]);
  });

  it('lie on world squares, sorted by row, then column', () => {
    const stretches = compare(street, [0, 0]);
    expect(stretches).toEqual([...stretches].sort((a, b) => a.y - b.y || a.x - b.x));
    for (const { x, y } of stretches) {
      expect((x / STRETCH) % 1).toBeCloseTo(0.5, 9);
      expect((y / STRETCH) % 1).toBeCloseTo(0.5, 9);
    }
  });
});

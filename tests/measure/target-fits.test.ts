import { describe, expect, it } from 'vitest';
import type { LocationNeighbourhoods } from '../../src/measure/survey/location-neighbourhoods.js';
import { type TargetFitsParams, type TargetFound, targetFits, targetRadius } from '../../src/measure/target-fits.js';
import { type TargetNeighbourhood, targetNeighbourhoods } from '../../src/measure/target-neighbourhoods.js';
import { measureFiles, ORIGIN, type TestPoint } from './point-batches.js';

const target = { x: ORIGIN[0], y: ORIGIN[1], z: 5, kind: 'disc' as const, size: 0.3 };
const params: TargetFitsParams = { targets: [target], search: 0.2, minFit: 0.5, most: 20_000 };

/** A bright disc of 0.3 m around a place on level ground, points every 2 cm; `above` metres over the surveyed height. */
const disc = (x0: number, y0: number, above: number, source = 1): TestPoint[] =>
  Array.from({ length: 3600 }, (_, k) => {
    const [x, y] = [((k % 60) - 29.5) * 0.02, (Math.floor(k / 60) - 29.5) * 0.02];
    return { x, y, z: 5 + above, source, intensity: Math.hypot(x - x0, y - y0) < 0.15 ? 40_000 : 5_000 };
  });

function find(points: readonly TestPoint[]): TargetFound {
  const { measurement, params: own } = targetFits.from(params);
  expect(measurement).toBe(targetNeighbourhoods.id);
  const found = measureFiles(targetNeighbourhoods, own, [points], 500) as LocationNeighbourhoods<TargetNeighbourhood>;
  return targetFits.derive(found, params)[0];
}

describe('targets found by their brightness', () => {
  it('a disc 40 mm east, 30 mm south and 10 mm above its surveyed place comes back within 5 mm', () => {
    const found = find(disc(0.04, -0.03, 0.01));
    expect(found.reason).toBeNull();
    expect(Math.abs(found.dx! - 0.04)).toBeLessThan(0.005);
    expect(Math.abs(found.dy! + 0.03)).toBeLessThan(0.005);
    expect(found.dz!).toBeCloseTo(0.01, 6);
    expect(found.fit!).toBeGreaterThan(0.8);
    // A disc has no direction.
    expect(found.angle).toBeNull();
    expect(found.perPass).toHaveLength(1);
    expect(Math.abs(found.perPass[0].dx! - 0.04)).toBeLessThan(0.005);
  });

  it('two passes are each located by themselves', () => {
    const found = find([...disc(0.04, 0, 0, 1), ...disc(0.01, 0, 0, 2)]);
    expect(found.perPass.map(({ pass }) => pass)).toEqual([1, 2]);
    expect(Math.abs(found.perPass[0].dx! - 0.04)).toBeLessThan(0.005);
    expect(Math.abs(found.perPass[1].dx! - 0.01)).toBeLessThan(0.005);
    expect(Math.abs(found.dx! - 0.025)).toBeLessThan(0.005);
  });

  it('gives the reason where nothing is found: no points, or one brightness', () => {
    expect(find([])).toMatchObject({
      dx: null,
      dy: null,
      dz: null,
      found: 0,
      reason: 'no cloud point near the target',
    });
    const even = disc(0, 0, 0).map((p) => ({ ...p, intensity: 700 }));
    expect(find(even)).toMatchObject({
      dx: null,
      used: 0,
      reason: 'the points of the cloud have no intensities that differ',
    });
  });

  it('looks at the search and one and a half times the radius of a disc around it', () => {
    // Half the diameter of 0.3 m is 0.15 m.
    expect(targetRadius('disc', 0.3, 0.2)).toBeCloseTo(0.2 + 1.5 * 0.15, 12);
  });
});

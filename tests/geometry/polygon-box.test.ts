import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { pointInPolygon } from '../../src/geometry/polygon.js';
import { polygonMeetsBox } from '../../src/geometry/polygon-box.js';

const box = { minX: 0, minY: 0, maxX: 10, maxY: 10 };
const polygon = (...outer: number[]) => ({
  outer: Float64Array.from([...outer, outer[0], outer[1]]),
  holes: [] as Float64Array[],
});

describe('a polygon and an upright rectangle', () => {
  it.each<[string, ReturnType<typeof polygon>, boolean]>([
    ['the same', polygon(0, 0, 10, 0, 10, 10, 0, 10), true],
    ['around it', polygon(-1, -1, 11, -1, 11, 11, -1, 11), true],
    ['inside it', polygon(4, 4, 5, 4, 5, 5), true],
    ['apart', polygon(20, 0, 30, 0, 30, 10), false],
    ['side by side', polygon(10, 0, 20, 0, 20, 10, 10, 10), false],
    ['side by side to the west', polygon(-10, 0, 0, 0, 0, 10, -10, 10), false],
    ['side by side to the south', polygon(0, -10, 10, -10, 10, 0, 0, 0), false],
    ['corner to corner', polygon(10, 10, 20, 10, 20, 20), false],
    ['a slanting edge just past a corner', polygon(21, 0, 30, 0, 30, 30, 0, 30, 0, 21), false],
    ['a slanting edge through a corner', polygon(18, 0, 30, 0, 30, 30, 0, 30, 0, 18), true],
    ['a band across without a corner inside', polygon(-5, 4, 15, 4, 15, 6, -5, 6), true],
  ])('%s', (_, shape, meets) => expect(polygonMeetsBox(shape, box)).toBe(meets));

  it('in the hole of a polygon there is nothing to share', () => {
    const ring = {
      ...polygon(-20, -20, 30, -20, 30, 30, -20, 30),
      holes: [polygon(-5, -5, 15, -5, 15, 15, -5, 15).outer],
    };
    expect(polygonMeetsBox(ring, box)).toBe(false);
    expect(polygonMeetsBox({ ...ring, holes: [polygon(1, -5, 15, -5, 15, 15, 1, 15).outer] }, box)).toBe(true);
  });

  it('agrees with a look at many places', () => {
    const corner = fc.integer({ min: -12, max: 22 });
    const triangle = fc.tuple(corner, corner, corner, corner, corner, corner);
    fc.assert(
      fc.property(triangle, (corners) => {
        const shape = polygon(...corners);
        let found = false;
        for (let x = 0.05; x < 10; x += 0.1) for (let y = 0.05; y < 10; y += 0.1) found ||= pointInPolygon(x, y, shape);
        // A place that is found proves it; between places a sliver may hide.
        if (found) expect(polygonMeetsBox(shape, box)).toBe(true);
      }),
      { seed: 5, numRuns: 150 },
    );
  });
});

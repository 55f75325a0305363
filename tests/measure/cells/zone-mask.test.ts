import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { pointInPolygons } from '../../../src/geometry/polygon.js';
import { type MaskArea, markInside, zoneMaskOf } from '../../../src/measure/cells/zone-mask.js';
import { batchOf, ORIGIN } from '../point-batches.js';

/** Marks of points given in metres from ORIGIN. */
function marks(area: MaskArea, places: readonly (readonly [number, number])[]): number[] {
  const batch = batchOf(places.map(([x, y]) => ({ x, y })));
  const marked = new Uint8Array(places.length);
  markInside(zoneMaskOf(area), batch, batch.valid, marked);
  return [...marked];
}

function world(ring: readonly (readonly [number, number])[]): number[] {
  return ring.flatMap(([x, y]) => [ORIGIN[0] + x, ORIGIN[1] + y]);
}

const square = (x0: number, y0: number, x1: number, y1: number) =>
  world([
    [x0, y0],
    [x1, y0],
    [x1, y1],
    [x0, y1],
  ]);

describe('the mask of a zone', () => {
  it('takes points on left and lower edges, not on right and upper ones, to the tenth of a millimetre', () => {
    const area = { polygons: [{ outer: square(0, 0, 10, 6), holes: [] }], margin: 0 };
    const places = [
      [0, 0],
      [-0.0001, 3],
      [9.9999, 5.9999],
      [10, 3],
      [5, 6],
      [5, 5.9999],
      [5, 0],
      [5, -0.0001],
      [1000, 1000],
    ] as const;
    expect(marks(area, places)).toEqual([1, 0, 1, 0, 0, 1, 1, 0, 0]);
  });

  it('leaves holes out, joins polygons, and passes over points that are not asked about', () => {
    const area = {
      polygons: [
        { outer: square(0, 0, 20, 20), holes: [square(5, 5, 15, 15)] },
        { outer: square(8, 8, 12, 12), holes: [] },
      ],
      margin: 0,
    };
    const places = [
      [1, 1],
      [6, 6],
      [10, 10],
      [15, 15],
      [30, 10],
    ] as const;
    expect(marks(area, places)).toEqual([1, 0, 1, 1, 0]);
    const batch = batchOf(places.map(([x, y]) => ({ x, y })));
    const marked = new Uint8Array(5).fill(9);
    markInside(zoneMaskOf(area), batch, Uint8Array.of(0, 1, 0, 1, 1), marked);
    expect([...marked]).toEqual([0, 0, 0, 1, 0]);
  });

  it('adds a margin that is round at corners', () => {
    const area = { polygons: [{ outer: square(0, 0, 10, 10), holes: [] }], margin: 5 };
    // 3-4-5 triangle: just on the margin, and a little beyond it.
    const places = [
      [-5, 5],
      [-5.0001, 5],
      [-3, -4],
      [-3.01, -4],
      [14, 13],
      [14.01, 13],
    ] as const;
    expect(marks(area, places)).toEqual([1, 0, 1, 0, 1, 0]);
  });

  it('says the same as trying every edge, for any ring', () => {
    const corner = fc.tuple(fc.integer({ min: -80, max: 80 }), fc.integer({ min: -80, max: 80 }));
    const coordinate = fc.integer({ min: -120_000, max: 120_000 });
    fc.assert(
      fc.property(
        fc.array(corner, { minLength: 3, maxLength: 12 }),
        fc.array(corner, { minLength: 3, maxLength: 6 }),
        fc.array(fc.tuple(coordinate, coordinate), { minLength: 20, maxLength: 60 }),
        (outer, hole, quanta) => {
          const metres = (ring: readonly (readonly [number, number])[]) =>
            ring.map(([x, y]) => [x / 8, y / 8] as const);
          const inQuanta = (ring: readonly (readonly [number, number])[]) =>
            Float64Array.from(ring.flat(), (v) => v * 1250);
          const truth = { outer: inQuanta(outer), holes: [inQuanta(hole)] };
          // On a slanted edge itself either answer is right.
          const places = quanta.filter(([x, y]) => [truth.outer, ...truth.holes].every((ring) => !touches(ring, x, y)));
          const area = { polygons: [{ outer: world(metres(outer)), holes: [world(metres(hole))] }], margin: 0 };
          const found = marks(
            area,
            places.map(([x, y]) => [x / 1e4, y / 1e4] as const),
          );
          expect(found).toEqual(places.map(([x, y]) => (pointInPolygons(x, y, [truth]) ? 1 : 0)));
        },
      ),
      { numRuns: 400, seed: 5 },
    );
  });
});

/** Whether a place lies on an edge of a closed ring, all whole numbers. */
function touches(ring: Float64Array, x: number, y: number): boolean {
  for (let i = 0; i < ring.length; i += 2) {
    const [ax, ay] = [ring[i] - x, ring[i + 1] - y];
    const [bx, by] = [ring[(i + 2) % ring.length] - x, ring[(i + 3) % ring.length] - y];
    if (ax * by === ay * bx && ax * bx <= 0 && ay * by <= 0) return true;
  }
  return false;
}

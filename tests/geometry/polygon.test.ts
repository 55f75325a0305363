import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  pointInPolygon,
  pointInPolygons,
  pointInRing,
  polygonArea,
  polygonBounds,
  ringArea,
} from '../../src/geometry/polygon.js';

const ring = (...xy: number[]) => Float64Array.from(xy);
const square = ring(0, 0, 10, 0, 10, 10, 0, 10, 0, 0);
const withHole = { outer: square, holes: [ring(4, 4, 6, 4, 6, 6, 4, 6, 4, 4)] };

describe('pointInRing', () => {
  it('half-open: left and lower edges in, right and upper edges out', () => {
    expect(pointInRing(0, 5, square)).toBe(true);
    expect(pointInRing(5, 0, square)).toBe(true);
    expect(pointInRing(0, 0, square)).toBe(true);
    expect(pointInRing(10, 5, square)).toBe(false);
    expect(pointInRing(5, 10, square)).toBe(false);
    expect(pointInRing(-0.001, 5, square)).toBe(false);
  });
  it('the last vertex may be repeated or not, the ring may run either way', () => {
    const open = square.slice(0, 8);
    const reversed = ring(0, 0, 0, 10, 10, 10, 10, 0);
    for (const [x, y] of [
      [0, 0],
      [5, 5],
      [10, 10],
      [9.99, 0],
      [11, 3],
    ] as const) {
      expect(pointInRing(x, y, open)).toBe(pointInRing(x, y, square));
      expect(pointInRing(x, y, reversed)).toBe(pointInRing(x, y, square));
    }
  });
  it('of two triangles that share an edge exactly one holds any point of the square', () => {
    const coordinate = fc.oneof(fc.double({ min: 0, max: 9.99, noNaN: true }), fc.integer({ min: 0, max: 9 }));
    fc.assert(
      fc.property(coordinate, coordinate, fc.boolean(), (x, y, onEdge) => {
        const lower = ring(0, 0, 10, 0, 10, 10);
        const upper = ring(0, 0, 10, 10, 0, 10);
        const at = onEdge ? x : y;
        expect(Number(pointInRing(x, at, lower)) + Number(pointInRing(x, at, upper))).toBe(1);
      }),
      { seed: 91 },
    );
  });
  it('rows of a comb: spikes through the scan line', () => {
    const comb = ring(0, 0, 1, 5, 2, 0, 3, 5, 4, 0, 4, -1, 0, -1);
    expect([0.2, 1, 1.9, 2.1, 3, 3.8].map((x) => pointInRing(x, 2, comb))).toEqual([
      false,
      true,
      false,
      false,
      true,
      false,
    ]);
    expect([0.5, 2, 3.5].map((x) => pointInRing(x, -0.5, comb))).toEqual([true, true, true]);
    expect(pointInRing(0.5, 1, ring())).toBe(false);
  });
});

describe('polygons', () => {
  it('holes are out', () => {
    expect(pointInPolygon(2, 2, withHole)).toBe(true);
    expect(pointInPolygon(5, 5, withHole)).toBe(false);
    expect(pointInPolygons(5, 5, [withHole, { outer: ring(4.5, 4.5, 5.5, 4.5, 5.5, 5.5, 4.5, 5.5), holes: [] }])).toBe(
      true,
    );
    expect(pointInPolygons(5, 5, [])).toBe(false);
  });
  it('areas', () => {
    expect(ringArea(square)).toBe(100);
    expect(ringArea(ring(0, 0, 0, 10, 10, 10, 10, 0))).toBe(-100);
    expect(polygonArea(withHole)).toBe(96);
    // RFC 7946 asks for anticlockwise outer rings and clockwise holes; older files have any of the four.
    const turned = (ring: Float64Array) => {
      const corners = Array.from({ length: ring.length / 2 }, (_, i) => [ring[2 * i], ring[2 * i + 1]]);
      return Float64Array.from(corners.reverse().flat());
    };
    for (const outer of [square, turned(square)])
      for (const hole of [withHole.holes[0], turned(withHole.holes[0])]) {
        expect(polygonArea({ outer, holes: [hole, hole.map((v) => v + 3)] })).toBe(92);
        expect(pointInPolygon(5, 5, { outer, holes: [hole] })).toBe(false);
        expect(pointInPolygon(3, 5, { outer, holes: [hole] })).toBe(true);
      }
    // A triangle of 3 by 4 at a northing of 5 million metres keeps its area to the last digit.
    expect(ringArea(ring(435000, 5180000, 435003, 5180000, 435000, 5180004))).toBe(6);
    expect(ringArea(ring(1, 1))).toBe(0);
  });
  it('bounds', () => {
    expect(polygonBounds([withHole, { outer: ring(-3, 5, 20, 5, 8, 7), holes: [] }])).toEqual({
      minX: -3,
      minY: 0,
      maxX: 20,
      maxY: 10,
    });
    expect(polygonBounds([])).toBeNull();
  });
});

import { describe, expect, it } from 'vitest';
import { tinHeight } from '../../src/geometry/tin.js';
import { seeded, shuffled } from './seeded.js';

type Point = [number, number, number];
const height = (p: readonly Point[], options?: { maxEdgeMetres?: number }) =>
  tinHeight(
    Float64Array.from(p, (q) => q[0]),
    Float64Array.from(p, (q) => q[1]),
    Float64Array.from(p, (q) => q[2]),
    p.length,
    options,
  );

describe('tinHeight', () => {
  it('one triangle: barycentric mean, by hand', () => {
    const found = height([
      [-1, -1, 0],
      [3, -1, 4],
      [-1, 3, 8],
    ])!;
    // (0, 0) lies a quarter of the way along both sides: 0 + 4/4 + 8/4.
    expect(found.height).toBeCloseTo(3, 14);
    expect(found.slopeX).toBeCloseTo(1, 14);
    expect(found.slopeY).toBeCloseTo(2, 14);
    expect(found.longestEdgeMetres).toBeCloseTo(Math.hypot(4, 4), 14);
  });
  it('a tilted plane comes back whatever the triangles', () => {
    const random = seeded(71);
    for (let run = 0; run < 100; run++) {
      const p = Array.from({ length: 60 }, (): Point => {
        const [x, y] = [random.normal(), random.normal()];
        return [x, y, 3 + 0.2 * x - 0.4 * y];
      });
      const found = height(p)!;
      expect(found.height).toBeCloseTo(3, 12);
      expect(found.slopeX).toBeCloseTo(0.2, 9);
      expect(found.slopeY).toBeCloseTo(-0.4, 9);
      expect(height(shuffled(p, random))).toEqual(found);
    }
  });
  it('uses the Delaunay triangle: no other point lies in its circle (definition, tried on every triangle)', () => {
    const random = seeded(72);
    for (let run = 0; run < 30; run++) {
      const p = Array.from({ length: 12 }, (): Point => [random.normal(), random.normal(), random.normal()]);
      let expected: number | null = null;
      for (let i = 0; i < 12; i++) {
        for (let j = i + 1; j < 12; j++) {
          for (let k = j + 1; k < 12; k++) {
            const h = emptyCircleHeight(p, i, j, k);
            if (h !== null) expected = h;
          }
        }
      }
      const found = height(p);
      if (expected === null) expect(found).toBeNull();
      else expect(found!.height).toBeCloseTo(expected, 9);
    }
  });
  it('on a vertex, on an edge', () => {
    const square: Point[] = [
      [-1, -1, 0],
      [1, -1, 2],
      [1, 1, 4],
      [-1, 1, 2],
    ];
    expect(height(square)!.height).toBeCloseTo(2, 14);
    expect(height([...square, [0, 0, 9]])!.height).toBe(9);
  });
  it('null outside the hull, for points in a line, and across gaps', () => {
    const away: Point[] = [
      [1, 1, 0],
      [2, 1, 0],
      [1, 2, 0],
    ];
    expect(height(away)).toBeNull();
    expect(
      height([
        [-1, -1, 0],
        [0, 0, 1],
        [1, 1, 2],
        [2, 2, 3],
      ]),
    ).toBeNull();
    expect(height([])).toBeNull();
    const wide: Point[] = [
      [-5, -5, 0],
      [5, -5, 0],
      [0, 5, 0],
    ];
    expect(height(wide, { maxEdgeMetres: 12 })!.height).toBeCloseTo(0, 14);
    expect(height(wide, { maxEdgeMetres: 9 })).toBeNull();
  });
  it('points at the same place count once, at their mean height', () => {
    const p: Point[] = [
      [-1, -1, 0],
      [3, -1, 4],
      [-1, 3, 7],
      [-1, 3, 9],
      [-1, 3, 8],
    ];
    expect(height(p)!.height).toBeCloseTo(3, 14);
    expect(
      height([
        [0, 0, 1],
        [0, 0, 2],
        [0, 0, 3],
      ]),
    ).toBeNull();
  });
  it('same bits in any order on a regular grid, where the triangles are a matter of choice, with repeated places', () => {
    const random = seeded(73);
    const p: Point[] = [];
    for (let x = -3; x <= 3; x++) {
      for (let y = -3; y <= 3; y++) p.push([x + 0.5, y + 0.5, random.normal()], [x + 0.5, y + 0.5, random.normal()]);
    }
    const found = height(p)!;
    for (let run = 0; run < 20; run++) expect(height(shuffled(p, random))).toEqual(found);
  });
  it('refuses coordinates that are no numbers', () => {
    expect(() => height([[0, 0, Number.NaN]])).toThrow(RangeError);
  });
});

/** Height at (0, 0) in triangle i j k when it holds (0, 0) and its circle holds no other point; else null. */
function emptyCircleHeight(p: readonly Point[], i: number, j: number, k: number): number | null {
  const [[ax, ay, az], [bx, by, bz], [cx, cy, cz]] = [p[i], p[j], p[k]];
  const area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay);
  const u = (bx * cy - cx * by) / area;
  const v = (cx * ay - ax * cy) / area;
  const w = 1 - u - v;
  if (u < 0 || v < 0 || w < 0) return null;
  const d = 2 * area;
  const [b2, c2] = [(bx - ax) ** 2 + (by - ay) ** 2, (cx - ax) ** 2 + (cy - ay) ** 2];
  const ox = ax + ((cy - ay) * b2 - (by - ay) * c2) / d;
  const oy = ay + ((bx - ax) * c2 - (cx - ax) * b2) / d;
  const r = Math.hypot(ax - ox, ay - oy);
  const empty = p.every(([x, y], m) => m === i || m === j || m === k || Math.hypot(x - ox, y - oy) > r * (1 - 1e-12));
  return empty ? u * az + v * bz + w * cz : null;
}

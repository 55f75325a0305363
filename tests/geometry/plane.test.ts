import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  cosineBetweenNormals,
  createPlane,
  distanceBetweenPlanes,
  meanNormal,
  type Plane,
  planeFromMoments,
} from './plane-reference.js';
import { type Seeded, seeded } from './seeded.js';

type Point = readonly [number, number, number];

/** Sums and products of whole coordinates, kept exactly; refuses what a Float64 cannot hold exactly. */
function moments(points: readonly Point[]): { n: number; sums: Float64Array; products: Float64Array } {
  const sums = [0n, 0n, 0n];
  const products = [0n, 0n, 0n, 0n, 0n, 0n];
  for (const p of points) {
    const [x, y, z] = p.map(BigInt);
    [x, y, z].forEach((v, i) => {
      sums[i] += v;
    });
    [x * x, x * y, x * z, y * y, y * z, z * z].forEach((v, i) => {
      products[i] += v;
    });
  }
  for (const v of [...sums, ...products]) if (v >= 2n ** 53n || v <= -(2n ** 53n)) throw new Error('sum beyond 2^53');
  return { n: points.length, sums: Float64Array.from(sums, Number), products: Float64Array.from(products, Number) };
}

function planeOf(points: readonly Point[]): Plane {
  const { n, sums, products } = moments(points);
  const plane = createPlane();
  expect(planeFromMoments(n, sums, products, plane)).toBe(true);
  return plane;
}

/** Points of a plane z = c + bx x + by y with noise, whole quanta, offsets up to `side`. */
function scatter(random: Seeded, n: number, side: number, bx: number, by: number, noise: number): Point[] {
  return Array.from({ length: n }, () => {
    const x = random.integer(side);
    const y = random.integer(side);
    return [x, y, Math.round(side / 3 + bx * x + by * y + noise * random.normal())] as const;
  });
}

const shift = (points: readonly Point[], by: Point): Point[] =>
  points.map((p) => [p[0] + by[0], p[1] + by[1], p[2] + by[2]] as const);

describe('planeFromMoments', () => {
  it('a level square: exact', () => {
    const plane = planeOf([
      [0, 0, 7],
      [10, 0, 7],
      [0, 10, 7],
      [10, 10, 7],
    ]);
    expect([...plane.centroid]).toEqual([5, 5, 7]);
    expect([...plane.normal]).toEqual([0, 0, 1]);
    expect([...plane.eigenvalues]).toEqual([0, 25, 25]);
    expect(plane.rms).toBe(0);
  });
  it('the 3-4-5 slope: normal (-0.6, 0, 0.8) by hand', () => {
    const plane = planeOf([
      [0, 0, 0],
      [40, 0, 30],
      [0, 50, 0],
      [40, 50, 30],
    ]);
    [-0.6, 0, 0.8].forEach((c, i) => {
      expect(plane.normal[i]).toBeCloseTo(c, 14);
    });
    expect(plane.rms).toBeLessThan(1e-6);
  });
  it('the same covariance bit by bit wherever the points lie in the cell', () => {
    const random = seeded(41);
    // 0.5 m voxel, 0.1 mm quanta, a thousand points; moved up to 90 m from the local corner, sums still below 2^53.
    const points = scatter(random, 1000, 5000, 0.025, -0.01, 40);
    const here = planeOf(points);
    for (const by of [
      [5000, 0, 0],
      [123_456, 654_321, 99_999],
      [900_000, 900_000, 900_000],
    ] as const) {
      const there = planeOf(shift(points, by));
      expect([...there.covariance]).toEqual([...here.covariance]);
      expect([...there.normal]).toEqual([...here.normal]);
      expect(there.rms).toBe(here.rms);
      there.centroid.forEach((c, i) => {
        expect(c).toBeCloseTo(here.centroid[i] + by[i], 8);
      });
    }
  });
  it('stays within the stated bound of the exact covariance (big integers)', () => {
    const coordinate = fc.integer({ min: -(2 ** 21), max: 2 ** 21 });
    const point = fc.tuple(coordinate, coordinate, coordinate);
    const near = fc.integer({ min: -3, max: 3 });
    const cluster = fc
      .tuple(point, fc.array(fc.tuple(near, near, near), { minLength: 3, maxLength: 40 }))
      .map(([centre, offsets]) => shift(offsets, centre));
    fc.assert(
      fc.property(fc.oneof(fc.array(point, { minLength: 3, maxLength: 40 }), cluster), (points) => {
        const plane = planeOf(points);
        const n = BigInt(points.length);
        const axes = [
          [0, 0],
          [0, 1],
          [0, 2],
          [1, 1],
          [1, 2],
          [2, 2],
        ];
        axes.forEach(([i, j], k) => {
          const [si, sj, sij] = points.reduce(
            (s, p) => [s[0] + BigInt(p[i]), s[1] + BigInt(p[j]), s[2] + BigInt(p[i]) * BigInt(p[j])],
            [0n, 0n, 0n],
          );
          const exact = n * sij - si * sj;
          const expected = Number(exact) / points.length ** 2;
          const bound = 2 ** -50 * Math.abs(expected) + (2 ** -102 * Math.abs(Number(sij))) / points.length;
          expect(Math.abs(plane.covariance[k] - expected)).toBeLessThanOrEqual(bound);
        });
      }),
      { seed: 42, numRuns: 500 },
    );
  });
  it('finds slope and noise of a noisy plane, and a wall as well as a road', () => {
    const random = seeded(43);
    const road = planeOf(scatter(random, 4000, 5000, 0.025, 0, 60));
    expect(road.normal[0] / road.normal[2]).toBeCloseTo(-0.025, 2);
    // Rounding to whole quanta adds 1/12 to the variance.
    expect(Math.abs(road.rms / Math.sqrt(60 * 60 + 1 / 12) - 1)).toBeLessThan(0.03);
    const wall = planeOf(scatter(random, 4000, 5000, 0.01, 0.02, 60).map(([x, y, z]) => [z, x, y] as const));
    expect(wall.normal[0]).toBeGreaterThan(0.999);
    expect(wall.rms).toBeGreaterThan(55);
  });
  it('no plane through fewer than three points; a line shows in the second eigenvalue', () => {
    const plane = createPlane();
    const two = moments([
      [0, 0, 0],
      [1, 0, 0],
    ]);
    expect(planeFromMoments(2, two.sums, two.products, plane)).toBe(false);
    expect(plane.n).toBe(0);
    const line = planeOf([
      [0, 0, 0],
      [100, 200, 200],
      [200, 400, 400],
      [300, 600, 600],
    ]);
    expect(line.eigenvalues[1]).toBeLessThan(1e-10 * line.eigenvalues[2]);
    expect(() => planeFromMoments(Number.NaN, two.sums, two.products, plane)).toThrow(RangeError);
  });
});

describe('distanceBetweenPlanes', () => {
  const vector = (x: number, y: number, z: number) => Float64Array.of(x, y, z);
  const unit = (x: number, y: number, z: number) => {
    const l = Math.hypot(x, y, z);
    return vector(x / l, y / l, z / l);
  };
  it('parallel planes: the step between them, whatever the centroids and the sense of the second normal', () => {
    const n = unit(1, 2, 5);
    const a = vector(10, 20, 30);
    // B: moved 3 along the normal and far along the plane.
    const b = vector(10 + 3 * n[0] + 40, 20 + 3 * n[1] - 20, 30 + 3 * n[2]);
    expect(distanceBetweenPlanes(a, n, b, n)).toBeCloseTo(3, 12);
    expect(
      distanceBetweenPlanes(
        a,
        n,
        b,
        n.map((c) => -c),
      ),
    ).toBeCloseTo(3, 12);
    expect(distanceBetweenPlanes(b, n, a, n)).toBeCloseTo(-3, 12);
    expect(
      distanceBetweenPlanes(
        a,
        n.map((c) => -c),
        b,
        n,
      ),
    ).toBeCloseTo(-3, 12);
  });
  it('the written-out formula at the midpoint', () => {
    const random = seeded(44);
    for (let k = 0; k < 200; k++) {
      const a = vector(random.normal(), random.normal(), random.normal());
      const b = vector(random.normal(), random.normal(), random.normal());
      const nA = unit(random.normal() * 0.1, random.normal() * 0.1, 1);
      const nB = unit(random.normal() * 0.1, random.normal() * 0.1, k % 2 === 0 ? 1 : -1);
      const n = vector(0, 0, 0);
      meanNormal(nA, nB, n);
      expect(Math.hypot(...n)).toBeCloseTo(1, 14);
      const dot = (p: Float64Array, q: Float64Array) => p[0] * q[0] + p[1] * q[1] + p[2] * q[2];
      const agreed = dot(nA, nB) < 0 ? nB.map((c) => -c) : nB;
      const p = a.map((c, i) => (c + b[i]) / 2);
      const from = (c: Float64Array) => c.map((v, i) => v - p[i]);
      const d = dot(from(b), agreed) / dot(n, agreed) - dot(from(a), nA) / dot(n, nA);
      expect(distanceBetweenPlanes(a, nA, b, nB)).toBeCloseTo(d, 12);
    }
  });
  it('one tilted plane sampled at two places is at distance zero', () => {
    const n = unit(-0.1, 0.05, 1);
    const on = (x: number, y: number) => vector(x, y, 0.1 * x - 0.05 * y);
    expect(distanceBetweenPlanes(on(0, 0), n, on(2000, -1500), n)).toBeCloseTo(0, 10);
  });
  it('a roof ridge seen from both sides: tilt alone gives no distance at the midpoint', () => {
    const left = unit(-0.05, 0, 1);
    const right = unit(0.05, 0, 1);
    expect(distanceBetweenPlanes(vector(-1, 0, -0.05), left, vector(1, 0, -0.05), right)).toBeCloseTo(0, 14);
    expect(distanceBetweenPlanes(vector(0, 0, 0), left, vector(0, 0, 0), right)).toBe(0);
    // The right-hand side raised by 0.02: that much along the mean normal, which is upright, over the cosine of the tilt.
    expect(distanceBetweenPlanes(vector(-1, 0, -0.05), left, vector(1, 0, -0.03), right)).toBeCloseTo(0.02, 12);
  });
  it('recovers a planted shift from two noisy samples of one surface', () => {
    const random = seeded(45);
    const points = () => scatter(random, 3000, 5000, 0.03, 0.01, 60);
    const a = planeOf(points());
    const b = planeOf(shift(points(), [0, 0, 150]));
    // Standard error of a mean of 3000 points with 60 quanta of noise is 1.1, of the difference 1.6 quanta.
    expect(Math.abs(distanceBetweenPlanes(a.centroid, a.normal, b.centroid, b.normal) - 150)).toBeLessThan(5);
  });
  it('cosine of the angle between normals, sense ignored', () => {
    expect(cosineBetweenNormals(vector(0, 0, 1), vector(0, 0, -1))).toBe(1);
    expect(cosineBetweenNormals(vector(0, 0, 1), vector(1, 0, 0))).toBe(0);
    expect(cosineBetweenNormals(unit(0, 0, 1), unit(0, Math.tan(Math.PI / 36), 1))).toBeCloseTo(
      Math.cos(Math.PI / 36),
      12,
    );
  });
});

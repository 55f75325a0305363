import { describe, expect, it } from 'vitest';
import { createLevelPlane, heightOn, levelPlaneFromMoments } from '../../src/geometry/level-plane.js';
import { type SharedPlanes, VoxelBlock } from '../../src/kernel/voxel-block.js';
import { type MomentVoxels, VOXEL_BYTES, WIDE_BYTES } from '../../src/kernel/voxel-record.js';
import {
  cosineBetweenNormals,
  createPlane,
  distanceBetweenPlanes,
  meanNormal,
  type Plane,
  planeFromMoments,
} from '../geometry/plane-reference.js';
import { seeded } from '../geometry/seeded.js';

// The reference sums points voxel by voxel and asks tests/geometry/plane-reference.ts and src/geometry/level-plane.ts,
// which tests of their own hold against literature. It shares nothing with the compiled code but the definitions.

const SIDE = 2500;
const EDGE = 2 * SIDE;
/** Cubes of an area, each way. */
const WIDE = 128;
const PAIRS = {
  points: 5,
  rms: 0.04 * EDGE,
  spread: (0.12 * EDGE) ** 2,
  cosine: Math.cos((5 * Math.PI) / 180),
  noise: 0,
};
const PATCHES = { points: 4, variance: (0.12 * EDGE) ** 2, spread: (0.12 * EDGE) ** 2, slope: Math.tan(Math.PI / 18) };

interface Point {
  at: [number, number, number];
  pass: number;
}

/** Ground, a wall and scatter, seen by some passes, around the corner of an area and beyond it. */
function scene(seed: number, column: number, row: number): Point[] {
  const random = seeded(seed);
  const west = column * WIDE * SIDE;
  const south = row * WIDE * SIDE;
  const points: Point[] = [];
  for (const pass of [4, 1, 9]) {
    const lift = random.normal() * 60;
    for (let i = 0; i < 6000; i++) {
      const x = Math.floor(random.uniform() * 60_000) - 8000;
      const y = Math.floor(random.uniform() * 25_000) - 8000;
      const wall = i % 3 === 0;
      const scatter = i % 17 === 0;
      const z = scatter ? random.uniform() * 40_000 : wall ? random.uniform() * 20_000 : 700 + 0.02 * x + lift;
      const noise = () => random.normal() * 25;
      points.push({
        at: [
          Math.round(west + x + noise()),
          Math.round(south + (wall ? 9000 + 0.1 * x + noise() : y)),
          Math.round(z - 3000 + noise()),
        ],
        pass,
      });
    }
  }
  return points;
}

type Sums = { key: [number, number, number]; pass: number; m: Float64Array };

/** Exact sums by cell of `edge`, its corners at `shift` plus multiples of the edge, all in quanta. */
function sumsOf(points: readonly Point[], edge: number, shift: number): Map<string, Sums> {
  const cells = new Map<string, Sums>();
  for (const { at, pass } of points) {
    const key = at.map((v) => Math.floor((v - shift) / edge)) as [number, number, number];
    const [x, y, z] = at.map((v, k) => v - shift - key[k] * edge);
    const name = [...key, pass].join();
    const cell = cells.get(name) ?? { key, pass, m: new Float64Array(10) };
    [1, x, y, z, x * x, x * y, x * z, y * y, y * z, z * z].forEach((v, k) => {
      cell.m[k] += v;
    });
    cells.set(name, cell);
  }
  return cells;
}

/** The cubes of the points as they come from workers: in pieces, the same cube more than once, in both forms. */
function cubesOf(points: readonly Point[], pieces: number, column: number, row: number): MomentVoxels[] {
  const parts: Sums[] = [];
  for (let k = 0; k < pieces; k++) {
    parts.push(
      ...sumsOf(
        points.filter((_, i) => i % pieces === k),
        SIDE,
        0,
      ).values(),
    );
  }
  // An area gets its own cubes and the first of the next ones.
  const near = parts.filter(
    ({ key: [x, y] }) => x >= column * WIDE && x <= (column + 1) * WIDE && y >= row * WIDE && y <= (row + 1) * WIDE,
  );
  const half = near.length >> 1;
  return [small(near.slice(0, half)), wide(near.slice(half))];
}

function small(cubes: readonly Sums[]): MomentVoxels {
  const bytes = new Uint8Array(cubes.length * VOXEL_BYTES);
  cubes.forEach(({ key, pass, m: [n, x, y, z, xx, xy, xz, yy, yz, zz] }, i) => {
    new Int32Array(bytes.buffer, i * VOXEL_BYTES, 4).set([...key, pass]);
    new Uint32Array(bytes.buffer, i * VOXEL_BYTES + 16, 12).set([x, y, z, n, xx, yy, zz, n, xy, yz, xz, n]);
  });
  return { wide: false, bytes };
}

function wide(cubes: readonly Sums[]): MomentVoxels {
  const bytes = new Uint8Array(cubes.length * WIDE_BYTES);
  cubes.forEach(({ key, pass, m }, i) => {
    new Int32Array(bytes.buffer, i * WIDE_BYTES, 4).set([...key, pass]);
    new Float64Array(bytes.buffer, i * WIDE_BYTES + 16, 10).set(m);
  });
  return { wide: true, bytes };
}

/** Voxels that start in the area, by corner in cubes: one of each pass, ascending. */
function voxelsOf(points: readonly Point[], lattice: number, column: number, row: number): Map<string, Sums[]> {
  const groups = new Map<string, Sums[]>();
  for (const cell of sumsOf(points, EDGE, lattice * SIDE).values()) {
    const corner = cell.key.map((v) => 2 * v + lattice) as [number, number, number];
    if (Math.floor(corner[0] / WIDE) !== column || Math.floor(corner[1] / WIDE) !== row) continue;
    const list = groups.get(corner.join()) ?? [];
    list.push({ ...cell, key: corner });
    groups.set(
      corner.join(),
      list.sort((a, b) => a.pass - b.pass),
    );
  }
  return groups;
}

function planeIn({ m }: Sums): Plane | null {
  const plane = createPlane();
  if (m[0] < PAIRS.points || !planeFromMoments(m[0], m.slice(1, 4), m.slice(4, 10), plane)) return null;
  return plane.rms <= PAIRS.rms && plane.eigenvalues[1] >= PAIRS.spread ? plane : null;
}

function comparePlanes(a: Sums, b: Sums): number[] {
  if (a.m[0] < PAIRS.points || b.m[0] < PAIRS.points) return [0];
  const [p, q] = [planeIn(a), planeIn(b)];
  if (!p || !q || cosineBetweenNormals(p.normal, q.normal) < PAIRS.cosine) return [1];
  const n = new Float64Array(3);
  meanNormal(p.normal, q.normal, n);
  const middle = [0, 1, 2].map((k) => (p.centroid[k] + q.centroid[k]) / 2);
  const off = middle.reduce((sum, v, k) => sum + (v - SIDE) * n[k], 0);
  if (Math.abs(off) > SIDE / 2) return [1];
  const distance = distanceBetweenPlanes(p.centroid, p.normal, q.centroid, q.normal);
  return [2, ...a.key, ...middle.map(Math.round), ...[...n, distance].map(Math.fround)];
}

const AREAS = [
  [0, 0],
  [-1, 3],
  [175, 1853],
] as const;

describe.each(AREAS)('an area at column %i, row %i', (column, row) => {
  const points = scene(7 + column, column, row);
  const area = new VoxelBlock();
  const cubes = cubesOf(points, 3, column, row);

  it('has the planes of the definition in every voxel of both lattices, bit for bit', () => {
    const expected: string[] = [];
    for (const lattice of [0, 1]) {
      for (const group of voxelsOf(points, lattice, column, row).values()) {
        for (let i = 0; i < group.length; i++) {
          for (let j = i + 1; j < group.length; j++) {
            expected.push([group[i].pass, group[j].pass, ...comparePlanes(group[i], group[j])].join());
          }
        }
      }
    }
    area.open(column, row, SIDE, cubes);
    const pairs = area.pairs(PAIRS);
    const found = pairs.flatMap(linesOf);
    expect(found.length).toBeGreaterThan(30);
    expect(found.sort()).toEqual(expected.filter((line) => line.split(',').length > 3).sort());
    // Kinds: 0 both have points, 1 enough for a plane each, 2 the same plane.
    for (const { a, b, shared, dense, count } of pairs) {
      const kinds = expected.filter((line) => line.startsWith(`${a},${b},`)).map((line) => Number(line.split(',')[2]));
      const least = (kind: number) => kinds.filter((k) => k >= kind).length;
      expect([shared, dense, count]).toEqual([least(0), least(1), least(2)]);
    }
    expect(pairs.map(({ a, b }) => [a, b])).toEqual([
      [1, 4],
      [1, 9],
      [4, 9],
    ]);
  });

  it('has the level patches of the definition', () => {
    const expected: string[] = [];
    const plane = createLevelPlane();
    for (const lattice of [0, 1]) {
      for (const voxel of [...voxelsOf(points, lattice, column, row).values()].flat()) {
        if (voxel.m[0] < PATCHES.points || !levelPlaneFromMoments(voxel.m, 0, plane)) continue;
        if (plane.spread < PATCHES.spread || plane.variance > PATCHES.variance) continue;
        if (Math.sqrt(plane.slopeX ** 2 + plane.slopeY ** 2) > PATCHES.slope) continue;
        const middle = heightOn(plane, SIDE, SIDE);
        if (Math.abs(middle - SIDE) > SIDE / 2) continue;
        const place = [plane.x, plane.y, plane.z].map(Math.round);
        expected.push(
          [voxel.pass, plane.n, ...voxel.key, ...place, Math.round(plane.variance), Math.round(middle)].join(),
        );
      }
    }
    area.open(column, row, SIDE, cubes);
    const found = area.patches(PATCHES).flatMap(({ pass, count, corner, offset, points, variance, middle }) =>
      Array.from({ length: count }, (_, i) => {
        const place = [...three(corner, i), ...three(offset, i)];
        return [pass, points[i], ...place, Math.round(variance[i]), Math.round(middle[i])].join();
      }),
    );
    expect(found.length).toBeGreaterThan(30);
    expect(found.sort()).toEqual(expected.sort());
  });

  it('has the outline of every pass', () => {
    const LEVELS = 4;
    const own = [...sumsOf(points, SIDE, 0).values()].filter(
      ({ key: [x, y] }) => Math.floor(x / WIDE) === column && Math.floor(y / WIDE) === row,
    );
    const lowest = new Map<string, Map<number, number>>();
    const levels = new Map<string, number>();
    for (const { key, pass, m } of own) {
      const square = `${key[0] >> 1} ${key[1] >> 1}`;
      const heights = lowest.get(square) ?? new Map<number, number>();
      heights.set(pass, Math.min(heights.get(pass) ?? Infinity, key[2] * SIDE + m[3] / m[0]));
      lowest.set(square, heights);
      const pole = [pass, key[0], key[1]].join();
      levels.set(pole, (levels.get(pole) ?? 0) + 1);
    }
    const expectedAbove: string[] = [];
    const numberOf = (square: string) => {
      const [x, y] = square.split(' ').map(Number);
      return (y - (row * WIDE) / 2) * (WIDE / 2) + x - (column * WIDE) / 2;
    };
    for (const [square, heights] of lowest) {
      for (const [a, low] of heights) {
        for (const [b, high] of heights)
          if (a < b) expectedAbove.push([a, b, Math.fround(high - low), numberOf(square)].join());
      }
    }
    area.open(column, row, SIDE, cubes);
    const outline = area.outline(LEVELS);
    const above = outline.shared.flatMap((pair) =>
      [...pair.above].map((h, i) => [pair.a, pair.b, h, pair.square[i]].join()),
    );
    expect(above.length).toBeGreaterThan(100);
    expect(above.sort()).toEqual(expectedAbove.sort());
    const expected = [...levels].filter(([, n]) => n >= LEVELS).map(([place]) => place);
    expect(expected.length).toBeGreaterThan(3);
    expect(outline.passes).toEqual([...new Set(own.map(({ pass }) => pass))].sort((a, b) => a - b));
    const upright = outline.passes.flatMap((pass, k) =>
      Array.from({ length: outline.upright[k].length / 2 }, (_, i) =>
        [pass, outline.upright[k][2 * i], outline.upright[k][2 * i + 1]].join(),
      ),
    );
    expect(upright.sort()).toEqual(expected.sort());
  });

  it('tells its passes, and the most points in a cube', () => {
    const near = [...sumsOf(points, SIDE, 0).values()].filter(
      ({ key: [x, y] }) => x >= column * WIDE && x <= (column + 1) * WIDE && y >= row * WIDE && y <= (row + 1) * WIDE,
    );
    expect(area.open(column, row, SIDE, cubes)).toEqual({
      passes: [1, 4, 9],
      most: Math.max(...near.map(({ m }) => m[0])),
    });
  });

  it('gives its records in the same order however the cubes came', () => {
    const seen = [cubes, cubesOf([...points].reverse(), 1, column, row)].map((parts) => {
      area.open(column, row, SIDE, parts);
      return [...area.pairs(PAIRS).flatMap(linesOf), JSON.stringify(area.patches(PATCHES))];
    });
    expect(seen[0].length).toBeGreaterThan(30);
    expect(seen[1]).toEqual(seen[0]);
  });
});

function three(column: Int32Array | Uint16Array | Float32Array, i: number): number[] {
  return [...column.subarray(i * 3, i * 3 + 3)];
}

function linesOf({ a, b, count, corner, offset, normal, distance }: SharedPlanes): string[] {
  return Array.from({ length: count }, (_, i) =>
    [a, b, 2, ...three(corner, i), ...three(offset, i), ...three(normal, i), distance[i]].join(),
  );
}

it('an area without points gives nothing', () => {
  const area = new VoxelBlock();
  expect(area.open(0, 0, SIDE, [])).toEqual({ passes: [], most: 0 });
  expect(area.pairs(PAIRS)).toEqual([]);
  expect(area.patches(PATCHES)).toEqual([]);
  expect(area.outline(4)).toEqual({ passes: [], upright: [], shared: [] });
});

it('an area of more passes than it has room for says so, and the next one is as ever', () => {
  const area = new VoxelBlock();
  const cubesOfPasses = (count: number) => {
    const bytes = new Uint8Array(count * VOXEL_BYTES);
    for (let i = 0; i < count; i++) new Int32Array(bytes.buffer, i * VOXEL_BYTES, 16).set([1, 1, 1, i, 9, 9, 9, 1]);
    return [{ wide: false, bytes }];
  };
  expect(() => area.open(0, 0, SIDE, cubesOfPasses(5000))).toThrow(/more passes/);
  area.open(0, 0, SIDE, cubesOfPasses(400));
  // Every two of 400 are more than there is room for.
  expect(() => area.pairs(PAIRS)).toThrow(/more passes/);
  expect(area.open(0, 0, SIDE, cubesOfPasses(300)).passes.length).toBe(300);
  expect(area.pairs(PAIRS).length).toBe((300 * 299) / 2);
  expect(area.outline(1).passes.length).toBe(300);
});

describe('variance of the distance of two planes', () => {
  const NOISE = 25;

  /** Two passes over a square of a plane with the unit normal given, noise along it. */
  function passesOver(normal: readonly number[], seed: number): Point[] {
    const random = seeded(seed);
    const points: Point[] = [];
    for (const pass of [1, 2]) {
      for (let i = 0; i < 12_000; i++) {
        const u = 80_000 * random.uniform();
        const z = 40_000 * random.uniform();
        const off = NOISE * random.normal();
        // The plane contains the upward axis; u runs along its trace on the ground.
        const x = 90_000 - u * normal[1] + off * normal[0];
        const y = 90_000 + u * normal[0] + off * normal[1];
        points.push({ at: [Math.round(x), Math.round(y), Math.round(z)], pass });
      }
    }
    return points;
  }

  function compare(normal: readonly number[], seed: number, noise = 0) {
    const area = new VoxelBlock();
    area.open(0, 0, SIDE, cubesOf(passesOver(normal, seed), 1, 0, 0));
    const [pair] = area.pairs({ ...PAIRS, points: 8, noise });
    const mean = (values: ArrayLike<number>) => Array.from(values).reduce((a, b) => a + b, 0) / values.length;
    return { ...pair, meanSquare: mean(pair.distance.map((d) => d * d)), meanVariance: mean(pair.variance) };
  }

  // The planted noise is the outside truth: the squares of the distances must have the stated variances as their mean.
  it('is the scatter of the distances on a wall along the grid, whose points are used once', () => {
    const { count, meanSquare, meanVariance } = compare([0, 1], 1);
    expect(count).toBeGreaterThan(100);
    expect(meanSquare / meanVariance).toBeGreaterThan(0.75);
    expect(meanSquare / meanVariance).toBeLessThan(1.25);
  });

  it('counts in what overlapping voxels share: up to 1.41 times, the area of the diagonal over that of a face', () => {
    const { meanSquare, meanVariance } = compare([Math.SQRT1_2, Math.SQRT1_2], 2);
    expect(meanVariance / meanSquare).toBeGreaterThan(1.15);
    expect(meanVariance / meanSquare).toBeLessThan(1.65);
  });

  it('is not below the variance of rounding, step^2 / 12 a point', () => {
    const { variance } = compare([0, 1], 1, 1e6);
    // 12,000 points on 128 faces of a voxel are 94 a voxel; 130 is the mean and four standard deviations of a Poisson number.
    for (const v of variance) expect(v).toBeGreaterThan((2 * 1e6) / 130);
  });

  it('counts upright surfaces with too few points, and the points they have', () => {
    const area = new VoxelBlock();
    area.open(0, 0, SIDE, cubesOf(passesOver([0, 1], 3), 1, 0, 0));
    const [pair] = area.pairs({ ...PAIRS, points: 400 });
    expect(pair.count).toBe(0);
    expect(pair.sparse).toBeGreaterThan(100);
    // 12,000 points on 16 x 8 faces of a voxel: 94 a voxel, fewer at the edges and where the other lattice cuts the wall.
    expect(pair.sparsePoints / pair.sparse).toBeGreaterThan(20);
    expect(pair.sparsePoints / pair.sparse).toBeLessThan(95);
  });
});

import { describe, expect, it } from 'vitest';
import type { PassPairs } from '../../src/measure/pass-pairs.js';
import { usualDrives } from '../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet, type Street } from '../../src/simulate/scene/street.js';
import { measureScene, moved } from '../checks/measured-scene.js';

/** The scene is analytic: what was planted is the outside truth. 6 mm noise along the surface normal unless said otherwise. */
function compare(
  street: Street,
  shift: readonly [number, number, number],
  options: { voxel?: number; density?: number; noise?: number } = {},
) {
  const { voxel = 0.5, density = 150, noise = 0.006 } = options;
  const passes = usualDrives({ passes: 2, density, faults: [undefined, { shift }] });
  const points = scanToColumns({ street, passes, from: -20, to: 20, noise, seed: 5 });
  const ask = { measurement: 'pass-pairs', params: { voxel, minPoints: 10, area: null } };
  const [{ pairs }] = measureScene(points, [ask], { scale: 0.001 }) as [PassPairs];
  expect(pairs).toHaveLength(1);
  return pairs[0];
}

const street = createStreet({ origin: [561_000, 5_932_000], headingDegrees: 23 });

describe('shift of a pass against another', () => {
  it.each([[[0.03, -0.02, 0.025]], [[-0.06, 0.04, -0.05]], [[0, 0, 0]]] as [[number, number, number]][])(
    'small: %j m comes back within 1 mm',
    (shift) => {
      const pair = compare(street, shift);
      expect(pair.observable).toEqual([true, true, true]);
      for (let axis = 0; axis < 3; axis++)
        expect(Math.abs(pair.shift[axis]! - shift[axis]), `axis ${axis}`).toBeLessThan(0.001);
      expect(pair.gross).toEqual([0, 0, 0]);
    },
  );

  it('lies within four of its standard deviations, or half a millimetre of systematic error', () => {
    const shift = [0.03, -0.02, 0.025] as const;
    const pair = compare(street, shift);
    for (let axis = 0; axis < 3; axis++) {
      expect(Math.abs(pair.shift[axis]! - shift[axis])).toBeLessThan(4 * pair.shiftStd[axis]! + 0.0005);
      expect(pair.shiftStd[axis]!).toBeLessThan(0.001);
    }
  });

  it.each([
    ['up, more than a voxel', [0, 0, 0.9]],
    ['down', [0.01, 0, -1.7]],
    ['sideways, more than a voxel', [1.1, -0.9, 0.02]],
    ['both', [-0.8, 1.3, 0.7]],
  ] as [string, [number, number, number]][])('gross: %s, comes back within 3 mm', (_, shift) => {
    const pair = compare(street, shift);
    expect(pair.gross.some((v) => v !== 0)).toBe(true);
    for (let axis = 0; axis < 3; axis++)
      expect(Math.abs(pair.shift[axis]! - shift[axis]), `axis ${axis}`).toBeLessThan(0.003);
  });

  it('a bare road reveals heights only, whatever its crossfall: no made-up zero in plan', () => {
    const bare = createStreet({
      origin: [561_000, 5_932_000],
      headingDegrees: 23,
      left: 'open',
      right: 'open',
      poleSpacing: 0,
      treeSpacing: 0,
    });
    const pair = compare(bare, [0.03, -0.02, 0.025]);
    expect(pair.observable[0]).toBe(false);
    expect(pair.observable[1]).toBe(false);
    expect(pair.shift[0]).toBeNull();
    expect(pair.shift[1]).toBeNull();
    expect(Math.abs(pair.meanDz! - 0.025)).toBeLessThan(0.0015);
  });

  it('counts what it compared and what it could not', () => {
    const pair = compare(street, [0, 0, 0.01], { density: 6 });
    expect(pair.shared).toBeGreaterThan(100);
    expect(pair.dense).toBeLessThan(pair.shared);
  });

  it('sparse airborne density works with voxels of 2 m', () => {
    const pair = compare(street, [0, 0, 0.04], { density: 15, voxel: 2, noise: 0.02 });
    expect(pair.cells).toBeGreaterThan(30);
    expect(Math.abs(pair.shift[2]! - 0.04)).toBeLessThan(0.004);
  });
});

describe('areas in which moments are boiled down', () => {
  // Moved by whole voxels, the scene falls into other areas (32 m) but into the same voxels: not a plane may be lost at a border.
  it.each([
    [5, 0],
    [16, -11.5],
    [-31.5, 3],
  ])('wherever their borders fall, the same planes are found: moved by %d, %d m', (dx, dy) => {
    const passes = usualDrives({ passes: 2, density: 60, faults: [undefined, { shift: [0.02, 0, 0.01] }] });
    const points = scanToColumns({ street, passes, from: -20, to: 20, noise: 0.006, seed: 8 });
    // A round millimetre, so that moving does not round anew.
    for (const axis of [points.x, points.y, points.z])
      for (let i = 0; i < axis.length; i++) axis[i] = Math.round(axis[i] * 1000) / 1000;
    const ask = { measurement: 'pass-pairs', params: { voxel: 0.5, minPoints: 5, area: null } };
    const [here] = measureScene(points, [ask], { scale: 0.001 }) as [PassPairs];
    const [there] = measureScene(moved(points, [dx, dy, 0]), [ask], { scale: 0.001 }) as [PassPairs];
    const [a, b] = [here.pairs[0], there.pairs[0]];
    expect([b.shared, b.dense, b.planes, b.cells]).toEqual([a.shared, a.dense, a.planes, a.cells]);
    expect(a.planes).toBeGreaterThan(1000);
    for (let axis = 0; axis < 3; axis++) expect(b.shift[axis]).toBeCloseTo(a.shift[axis]!, 9);
  });
});

describe('the ground that was compared', () => {
  it('is nearly all of a dense bare road, and what has enough points of a sparse one', () => {
    const bare = createStreet({ treeSpacing: 0, poleSpacing: 0, left: 'open', right: 'open' });
    const dense = compare(bare, [0, 0, 0], { density: 150 });
    const sparse = compare(bare, [0, 0, 0], { density: 25 });
    expect(dense.comparedArea / dense.overlapArea).toBeGreaterThan(0.7);
    expect(sparse.comparedArea / sparse.overlapArea).toBeLessThan(0.4);
    // Squares of 0.5 m, of which a quarter can be covered.
    expect((dense.overlapArea / 0.25) % 1).toBe(0);
    expect((dense.comparedArea / 0.0625) % 1).toBe(0);
  });

  it('is the ground where a pass that stands far off was moved to', () => {
    const near = compare(street, [0, 0, 0]);
    const far = compare(street, [0, 0, 0.9]);
    expect(Math.abs(far.comparedArea / far.overlapArea - near.comparedArea / near.overlapArea)).toBeLessThan(0.1);
  });
});

describe('inside an area', () => {
  it('the planes of it and no others are compared: two halves of a street hold what the whole holds', () => {
    const [x, y] = [561_000, 5_932_000];
    const passes = usualDrives({ passes: 2, density: 60, faults: [undefined, { shift: [0, 0, 0.01] }] });
    const points = scanToColumns({ street: createStreet({ origin: [x, y] }), passes, from: -6, to: 6, seed: 5 });
    const half = (from: number, to: number) => ({
      polygons: [{ outer: [from, y - 99, to, y - 99, to, y + 99, from, y + 99], holes: [] }],
      margin: 0,
    });
    const ask = (area: ReturnType<typeof half> | null) => ({
      measurement: 'pass-pairs' as const,
      params: { voxel: 0.5, minPoints: 5, area },
    });
    const found = measureScene(points, [
      ask(null),
      ask(half(x - 99, x)),
      ask(half(x, x + 99)),
      ask(half(x + 80, x + 99)),
    ]) as PassPairs[];
    const [whole, west, east, none] = found.map(({ pairs }) => pairs[0]);
    expect(whole.planes).toBeGreaterThan(200);
    for (const part of [west, east]) {
      expect(part.planes).toBeGreaterThan(whole.planes / 4);
      expect(part.meanDz).toBeCloseTo(0.01, 3);
      expect(part.comparedArea).toBeGreaterThan(whole.comparedArea / 4);
    }
    expect(west.planes + east.planes).toBe(whole.planes);
    expect(west.cells + east.cells + west.rejected + east.rejected).toBeCloseTo(whole.cells + whole.rejected, -1);
    expect([...west.map.x].every((v) => v < x + 0.5) && [...east.map.x].every((v) => v > x - 0.5)).toBe(true);
    expect([none.planes, none.cells, none.meanDz, none.overlapArea]).toEqual([0, 0, null, 0]);
  });
});

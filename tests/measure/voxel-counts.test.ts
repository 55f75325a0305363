import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type VoxelCounts, type VoxelCountsParams, voxelCounts } from '../../src/measure/voxel-counts.js';
import { measureFiles, measureMerged, ORIGIN, type TestPoint } from './point-batches.js';

const measure = (points: readonly TestPoint[], params: VoxelCountsParams = { voxel: 1 }) =>
  measureFiles(voxelCounts, params, [points], 3) as VoxelCounts;

/** Position from the origin, points, points in it and its 26 neighbours. */
const rowsOf = ({ x, y, z, points, around, voxel }: VoxelCounts) =>
  [...points]
    .map((n, i) => [x[i] - ORIGIN[0] / voxel, y[i] - ORIGIN[1] / voxel, z[i], n, around[i]])
    .sort((p, q) => p[0] - q[0] || p[1] - q[1] || p[2] - q[2]);

describe('voxel counts', () => {
  it('count points whatever their pass, without withheld points and without the classes left out', () => {
    const points: TestPoint[] = [
      { x: 0.5, y: 0.5, z: 0.5, source: 1 },
      { x: 0.9999, y: 0, z: 0, source: 2 },
      { x: 0.5, y: 0.5, z: 0.5, flags: 4 },
      { x: 0.5, y: 0.5, z: 0.5, class: 7 },
    ];
    expect(rowsOf(measure(points))).toEqual([[0, 0, 0, 3, 3]]);
    expect(rowsOf(measure(points, { voxel: 1, without: [7] }))).toEqual([[0, 0, 0, 2, 2]]);
    expect(rowsOf(measure([]))).toEqual([]);
  });

  it('a point on a face belongs to the voxel that begins there, above, below and west of the origin', () => {
    const found = measure([
      { x: 1, y: 0, z: 0 },
      { x: 0, y: 0, z: 1 },
      { x: -0.0001, y: 0, z: -0.0001 },
    ]);
    expect(rowsOf(found).map((row) => row.slice(0, 4))).toEqual([
      [-1, 0, -1, 1],
      [0, 0, 1, 1],
      [1, 0, 0, 1],
    ]);
  });

  // 26 neighbours: every step of -1, 0, 1 on three axes but no step at all; two steps away is no neighbour.
  const steps = [-2, -1, 0, 1, 2];
  const all = steps.flatMap((i) => steps.flatMap((j) => steps.map((k) => [i, j, k] as const)));
  it.each(all)('a point at step %i, %i, %i is a neighbour up to one step on every axis', (i, j, k) => {
    // Position 7 is the last of a block of 8, so that steps cross into the next blocks.
    for (const from of [3.5, 7.5, 8.5]) {
      const found = measure([
        { x: from, y: from, z: from },
        { x: from + i, y: from + j, z: from + k },
      ]);
      const near = Math.max(Math.abs(i), Math.abs(j), Math.abs(k)) <= 1;
      expect(rowsOf(found).map((row) => row[4])).toEqual(i === 0 && j === 0 && k === 0 ? [2] : near ? [2, 2] : [1, 1]);
    }
  });

  it('agree with counting one point after the other, whole or merged', () => {
    const axis = fc.integer({ min: -9, max: 9 });
    const point = fc.record({ x: axis, y: axis, z: axis });
    fc.assert(
      fc.property(fc.array(point, { maxLength: 40 }), (points) => {
        const count = (far: number) => (p: TestPoint) =>
          points.filter((q) => [p.x - q.x, p.y - q.y, p.z! - q.z].every((d) => Math.abs(d) <= far)).length;
        const expected = new Map(
          points.map((p) => [`${p.x} ${p.y} ${p.z}`, [count(0)(p), count(1)(p)] as const] as const),
        );
        const found = measure(points);
        const given = rowsOf(found).map(([x, y, z, n, around]) => [`${x} ${y} ${z}`, [n, around] as const] as const);
        expect(new Map(given)).toEqual(expected);
        expect(measureMerged(voxelCounts, { voxel: 1 }, [points])).toEqual(found);
      }),
      { numRuns: 40, seed: 5 },
    );
  });

  it('refuses a state of another voxel', () => {
    const packed = voxelCounts.pack(voxelCounts.create({ voxel: 2 }));
    expect(() => voxelCounts.merge(voxelCounts.create({ voxel: 1 }), packed)).toThrow(RangeError);
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { planeMoments } from '../../src/measure/plane-moments.js';
import { batchOf, ORIGIN, type TestPoint } from './point-batches.js';

const params = { voxel: 0.5 };

/** Sums of every sub-voxel of 0.25 m, read from the packed form: place and pass, then n, x, y, z, xx, xy, xz, yy, yz, zz. */
function sumsOf(packed: ArrayBuffer): number[][] {
  const bytes = packed.slice(16);
  const [words, numbers] = [new Int32Array(bytes), new Float64Array(bytes)];
  return Array.from({ length: bytes.byteLength / 96 }, (_, i) => [
    ...words.subarray(i * 24, i * 24 + 4),
    ...numbers.subarray(i * 12 + 2, i * 12 + 12),
  ]);
}

function measure(points: readonly TestPoint[], how: Parameters<typeof planeMoments.create>[0] = params): number[][] {
  const state = planeMoments.create(how);
  planeMoments.add(state, batchOf(points));
  const packed = planeMoments.pack(state);
  planeMoments.release!(state);
  return sumsOf(packed);
}

describe('plane moments', () => {
  it('are exact sums of coordinates and products, in steps of 0.1 mm from the corner of the sub-voxel', () => {
    const found = measure([
      { x: 0.0001, y: 0.0002, z: 0.0003, source: 5 },
      { x: 0.001, y: 0.002, z: 0.003, source: 5 },
      { x: 0.001, y: 0.002, z: 0.003, source: 5, flags: 4 },
    ]);
    const place = [ORIGIN[0] * 4, ORIGIN[1] * 4, 0];
    expect(found).toEqual([[...place, 5, 2, 11, 22, 33, 101, 202, 303, 404, 606, 909]]);
  });

  it('are kept pass by pass; a border belongs to the sub-voxel that begins there, below zero as well', () => {
    const found = measure([
      { x: 0.25, y: 0, z: -0.0001, source: 2 },
      { x: 0.2499, y: 0, z: 0, source: 2 },
      { x: 0.2499, y: 0, z: 0, source: 1 },
    ]);
    expect(found.map(([x, y, z, pass, n]) => [x - ORIGIN[0] * 4, y - ORIGIN[1] * 4, z, pass, n])).toEqual([
      [0, 0, 0, 1, 1],
      [0, 0, 0, 2, 1],
      [1, 0, -1, 2, 1],
    ]);
  });

  it('of two passes of which the second was moved leave the others out', () => {
    const points = [1, 2, 3].map((source) => ({ x: 0.1, y: 0.1, z: 0.1, source }));
    const found = measure(points, { voxel: 0.5, moved: { passes: [1, 2], by: [1, 0, -2] } });
    expect(found.map(([x, , z, pass]) => [x - ORIGIN[0] * 4, z, pass])).toEqual([
      [0, 0, 1],
      [1, -2, 2],
    ]);
  });

  it('agree with adding one point after the other', () => {
    const axis = fc.integer({ min: -6000, max: 6000 });
    fc.assert(
      fc.property(fc.array(fc.tuple(axis, axis, axis), { maxLength: 40 }), (places) => {
        const expected = new Map<string, number[]>();
        for (const place of places) {
          const cell = place.map((v) => Math.floor(v / 2500));
          const [x, y, z] = place.map((v, k) => v - cell[k] * 2500);
          const sums = expected.get(cell.join(' ')) ?? Array(10).fill(0);
          [1, x, y, z, x * x, x * y, x * z, y * y, y * z, z * z].forEach((v, k) => {
            sums[k] += v;
          });
          expected.set(cell.join(' '), sums);
        }
        const points = places.map(([x, y, z]) => ({ x: x / 10_000, y: y / 10_000, z: z / 10_000 }));
        const found = measure(points).map(([x, y, z, , ...sums]) => {
          return [[x - ORIGIN[0] * 4, y - ORIGIN[1] * 4, z].join(' '), sums] as const;
        });
        expect(new Map(found)).toEqual(expected);
      }),
      { numRuns: 40, seed: 6 },
    );
  });

  it('refuse more points of one pass in a sub-voxel than can be summed exactly', () => {
    // A sub-voxel of 0.25 m is 2,500 steps: 2^53 / 2,500^2 = 1,441,151,880.7 points.
    const state = planeMoments.create(params);
    planeMoments.add(state, batchOf([{ x: 0.1, y: 0.1, z: 0.1 }]));
    const packed = planeMoments.pack(state);
    const numbers = new Float64Array(packed, 16);
    const withPoints = (n: number) => {
      numbers[2] = n;
      const merged = planeMoments.create(params);
      planeMoments.merge(merged, packed.slice(0));
      return () => planeMoments.pack(merged);
    };
    expect(withPoints(1_441_151_880)).not.toThrow();
    const tooDense = expect.objectContaining({ facts: expect.objectContaining({ code: 'cell-too-dense' }) });
    expect(withPoints(1_441_151_881)).toThrow(tooDense);
  });

  it('lie in blocks of 32 m for voxels of 0.5 m, with one sub-voxel around them', () => {
    const { edge, halo } = planeMoments.blocks!;
    expect(edge(params)).toBe(32);
    expect(halo(params)).toBe(0.25);
    expect(halo({ voxel: 0.5, moved: { passes: [1, 2], by: [1, -3, 2] } })).toBe(1);
  });
});

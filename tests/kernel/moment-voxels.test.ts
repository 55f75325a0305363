import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { dropVoxels, flushVoxels, momentVoxels, type OnVoxels } from '../../src/kernel/moment-voxels.js';
import { VOXEL_BYTES } from '../../src/kernel/voxel-record.js';
import { placed, repeated, type TestPoint, testPoint } from './placed.js';

/** Sums by definition, in integers without limit. */
function reference(points: readonly TestPoint[], side: number, quantum: number): Map<string, bigint[]> {
  const sums = new Map<string, bigint[]>();
  for (const p of points.filter(({ valid }) => valid)) {
    const at = [p.x, p.y, p.z].map((v) => (quantum === 1 ? v : Math.round(v / quantum)));
    const cell = at.map((v) => Math.floor(v / side));
    const [x, y, z] = at.map((v, k) => BigInt(v - cell[k] * side));
    const key = [...cell, p.pass].join();
    const known = sums.get(key) ?? Array<bigint>(10).fill(0n);
    const more = [1n, x, y, z, x * x, x * y, x * z, y * y, y * z, z * z];
    sums.set(
      key,
      known.map((v, k) => v + more[k]),
    );
  }
  return sums;
}

/** A sink, and what it got, added up. */
function collector(): { sink: OnVoxels; sums: Map<string, bigint[]> } {
  const sums = new Map<string, bigint[]>();
  const sink: OnVoxels = (cubes) => {
    const words = new Uint32Array(cubes.slice().buffer);
    for (let w = 0; w < words.length; w += VOXEL_BYTES / 4) {
      const cube = words.subarray(w, w + VOXEL_BYTES / 4);
      const key = Int32Array.from(cube.subarray(0, 4)).join();
      const [x, y, z, n, xx, yy, zz, again, xy, yz, xz, onceMore] = Array.from(cube.subarray(4), BigInt);
      expect([again, onceMore]).toEqual([n, n]);
      const known = sums.get(key) ?? Array<bigint>(10).fill(0n);
      const more = [n, x, y, z, xx, xy, xz, yy, yz, zz];
      sums.set(
        key,
        known.map((v, k) => v + more[k]),
      );
    }
  };
  return { sink, sums };
}

const sorted = (sums: Map<string, bigint[]>) => [...sums.entries()].sort(([a], [b]) => (a < b ? -1 : 1));

describe('sums by cube and pass', () => {
  it('are those of whole numbers without limit, whatever the points', () => {
    const scene = fc.array(testPoint, { minLength: 1, maxLength: 60 });
    fc.assert(
      fc.property(scene, fc.integer({ min: 1, max: 90 }), fc.constantFrom(1, 10), (points, times, quantum) => {
        const all = repeated(points, times);
        const { sink, sums } = collector();
        momentVoxels(placed(all), 2500, quantum, sink);
        flushVoxels(sink);
        expect(sorted(sums)).toEqual(sorted(reference(all, 2500, quantum)));
      }),
      { seed: 41, numRuns: 100 },
    );
  });

  it('hold for more points in a cube than 32 bits have room for', () => {
    // 5,999 at the far corner of a cube of 6,000: 119 of them are as many as there is room for.
    for (const side of [6000, 65_535]) {
      const far = side - 1;
      const all = Array.from({ length: 5000 }, (_, i) => ({
        x: far - (i % 2) * side,
        y: far,
        z: far - side,
        pass: 7,
        valid: true,
      }));
      const { sink, sums } = collector();
      momentVoxels(placed(all), side, 1, sink);
      flushVoxels(sink);
      expect(sorted(sums)).toEqual(sorted(reference(all, side, 1)));
    }
  });

  it('come through when every point has a cube of its own, and there are more of them than are kept', () => {
    const all = Array.from({ length: 50_000 }, (_, i) => ({
      x: i * 2500,
      y: -i * 5000,
      z: i,
      pass: i % 3,
      valid: true,
    }));
    const { sink, sums } = collector();
    momentVoxels(placed(all), 2500, 1, sink);
    flushVoxels(sink);
    expect(sums.size).toBe(50_000);
    expect(sorted(sums)).toEqual(sorted(reference(all, 2500, 1)));
  });

  it('go to whom they belong when two take turns, and nowhere when they are dropped', () => {
    fc.assert(
      fc.property(fc.array(testPoint, { minLength: 1, maxLength: 40 }), (points) => {
        const [first, second, third] = [collector(), collector(), collector()];
        momentVoxels(placed(points), 2500, 1, first.sink);
        momentVoxels(placed(points), 5000, 1, second.sink);
        momentVoxels(placed(points), 2500, 1, first.sink);
        momentVoxels(placed(points), 2500, 1, third.sink);
        dropVoxels(third.sink);
        flushVoxels(second.sink);
        flushVoxels(first.sink);
        expect(sorted(first.sums)).toEqual(sorted(reference([...points, ...points], 2500, 1)));
        expect(sorted(second.sums)).toEqual(sorted(reference(points, 5000, 1)));
        expect(third.sums.size).toBe(0);
      }),
      { seed: 42, numRuns: 60 },
    );
  });
});

import { describe, expect, it } from 'vitest';
import { askMoved, type MovedPlanes, movedPlanes } from '../../src/measure/moved-planes.js';
import type { PairPlanes } from '../../src/measure/planes/pair-planes.js';
import type { TestPoint } from './point-batches.js';
import { resultOfBlocks } from './result-of-blocks.js';

/** Level ground of two passes, the second `above` metres over the first. */
const ground = (above: number): TestPoint[] =>
  [1, 2].flatMap((source) =>
    Array.from({ length: 400 }, (_, k) => ({
      x: (k % 20) * 0.1 + 0.05,
      y: Math.floor(k / 20) * 0.1 + 0.05,
      z: 5.1 + (source === 2 ? above : 0),
      source,
    })),
  );

function planes(points: readonly TestPoint[], by: readonly [number, number, number]): PairPlanes | null {
  const params = { voxel: 0.5, minPoints: 8, moved: { passes: [1, 2], by } };
  return (resultOfBlocks(movedPlanes, params, points) as MovedPlanes).planes;
}

describe('planes of a moved pass', () => {
  it('passes 1.02 m apart meet when the second is moved down by four sub-voxels, and 20 mm are left', () => {
    expect(planes(ground(1.02), [0, 0, 0])?.count ?? 0).toBe(0);
    const met = planes(ground(1.02), [0, 0, -4])!;
    expect([met.a, met.b]).toEqual([1, 2]);
    expect(met.count).toBeGreaterThan(0);
    for (let i = 0; i < met.count; i++) {
      expect(Math.abs(met.normal[i * 3 + 2])).toBeCloseTo(1, 3);
      // Distances are in steps of 0.1 mm, along the normal.
      expect(met.distance[i] * Math.sign(met.normal[i * 3 + 2])).toBeCloseTo(200, 0);
    }
  });

  it('the ground that both have seen is the ground of the moved pass', () => {
    const params = { voxel: 0.5, minPoints: 8, moved: { passes: [1, 2], by: [0, 0, -4] } };
    const { squares } = resultOfBlocks(movedPlanes, params, ground(1.02)) as MovedPlanes;
    // Two metres by two metres in squares of 0.5 m.
    expect(squares.reduce((sum, { square }) => sum + square.length, 0)).toBe(16);
  });

  it('passes that never meet share no plane', () => {
    expect(planes([], [0, 0, -4])).toBeNull();
    expect(planes(ground(1.02), [0, 0, -40])?.count ?? 0).toBe(0);
  });

  it('are asked for only where two passes stand apart', () => {
    const how = { voxel: 0.5, minPoints: 8 };
    expect(askMoved({ a: 1, b: 2, by: [0, 0, 0] }, how)).toBeNull();
    expect(askMoved({ a: 1, b: 2, by: [0, 0, -4] }, how)).toEqual({
      measurement: 'moved-planes',
      params: { voxel: 0.5, minPoints: 8, moved: { passes: [1, 2], by: [0, 0, -4] } },
    });
  });
});

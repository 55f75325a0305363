import { describe, expect, it } from 'vitest';
import { solveShift } from '../../../src/geometry/least-squares.js';
import { seenDirections } from '../../../src/measure/planes/shift-directions.js';
import { HIDDEN_BOUND, shiftInMetres } from '../../../src/measure/planes/shift-in-metres.js';
import { seeded } from '../../geometry/seeded.js';

type Vector = [number, number, number];

// Planted: distances of surfaces that are moved by a known shift. Directions by hand, from the geometry of the scene.

const SHIFT: Vector = [0.03, -0.02, 0.025];
const NONE = [0, 0, 0];
const ANGLE = (23 * Math.PI) / 180;
const ROAD: [number, number] = [Math.cos(ANGLE), Math.sin(ANGLE)];
const ACROSS: Vector = [-Math.sin(ANGLE), Math.cos(ANGLE), 0];

function solve(surfaces: readonly { normal: Vector; count: number }[], noise = 0.001) {
  const random = seeded(4);
  const normals: number[] = [];
  const distances: number[] = [];
  for (const { normal, count } of surfaces) {
    const length = Math.hypot(...normal);
    const unit = normal.map((c) => c / length);
    for (let i = 0; i < count; i++) {
      normals.push(...unit);
      distances.push(unit.reduce((sum, c, k) => sum + c * SHIFT[k], 0) + noise * random.normal());
    }
  }
  const variances = new Float64Array(distances.length).fill(noise ** 2);
  return solveShift(Float64Array.from(normals), Float64Array.from(distances), distances.length, { variances });
}

function shiftAlong(direction: readonly number[]): number {
  return direction.reduce((sum, c, k) => sum + c * SHIFT[k], 0);
}

describe('directions in which a shift is seen', () => {
  it('a tunnel at 23 degrees to the grid: across and up, although neither x nor y is seen', () => {
    const solution = solve([
      { normal: [0, 0, 1], count: 400 },
      { normal: ACROSS, count: 200 },
    ]);
    expect(solution.observable).toEqual([false, false, true]);
    const seen = seenDirections(solution, ROAD, 1, NONE);
    expect(seen.map(({ name }) => name)).toEqual(['across', 'up']);
    for (const { direction, distance, std } of seen) {
      expect(Math.abs(distance - shiftAlong(direction))).toBeLessThan(4 * std);
      expect(std).toBeLessThan(0.0002);
    }
    expect(Math.abs(seen[0].direction[0] * ACROSS[0] + seen[0].direction[1] * ACROSS[1])).toBeCloseTo(1, 9);
  });

  it('on a grade, the direction across stays level and free of the hidden shift', () => {
    const grade = 0.08;
    const solution = solve([
      { normal: [-grade * ROAD[0], -grade * ROAD[1], 1], count: 400 },
      { normal: ACROSS, count: 200 },
    ]);
    const [across, up] = seenDirections(solution, ROAD, 1, NONE);
    expect(across.direction[2]).toBe(0);
    expect(Math.abs(across.distance - shiftAlong(across.direction))).toBeLessThan(4 * across.std);
    expect(up.direction[2]).toBeGreaterThan(0.99);
    expect(Math.abs(up.distance - shiftAlong(up.direction))).toBeLessThan(4 * up.std);
  });

  it('walls on both sides: along, across and up of the road, or the axes of the grid where no road stands out', () => {
    const solution = solve([
      { normal: [0, 0, 1], count: 400 },
      { normal: ACROSS, count: 200 },
      { normal: [ROAD[0], ROAD[1], 0], count: 50 },
    ]);
    const seen = seenDirections(solution, ROAD, 1, NONE);
    expect(seen.map(({ name }) => name)).toEqual(['along', 'across', 'up']);
    // 50 distances with a noise of 1 mm along, 200 across, 400 up.
    [50, 200, 400].forEach((count, k) => {
      expect(seen[k].std / (0.001 / Math.sqrt(count))).toBeGreaterThan(0.95);
      expect(seen[k].std / (0.001 / Math.sqrt(count))).toBeLessThan(1.3);
    });
    const onGrid = seenDirections(solution, null, 1, NONE);
    expect(onGrid.map(({ name }) => name)).toEqual(['horizontal', 'horizontal', 'up']);
    expect(onGrid[0].direction).toEqual([1, 0, 0]);
  });

  it('a bare road: up alone; a wall alone: across alone; the gross shift is part of each', () => {
    const gross = [0.5, -1, 2];
    const [up] = seenDirections(solve([{ normal: [0, 0, 1], count: 100 }]), ROAD, 1, gross);
    expect(up.name).toBe('up');
    expect(Math.abs(up.distance - 2.025)).toBeLessThan(0.001);
    const [across] = seenDirections(solve([{ normal: ACROSS, count: 100 }]), ROAD, 1, gross);
    expect(across.name).toBe('across');
    const expected = shiftAlong(across.direction) + across.direction[0] * 0.5 - across.direction[1];
    expect(Math.abs(across.distance - expected)).toBeLessThan(0.001);
  });
});

describe('the height of a steep bare road', () => {
  it('is known, and its standard deviation contains what a hidden shift of 40 mm along the road would add', () => {
    const grade = 0.12;
    const solution = solve([{ normal: [-grade, 0, 1], count: 2000 }], 0.0001);
    const found = shiftInMetres(solution, 1, NONE);
    expect(found.observable).toEqual([false, false, true]);
    // The hidden part of the height is sin(atan(0.12)); 40 mm are 1.96 standard deviations.
    const part = Math.sin(Math.atan(grade));
    expect(found.std[2]! / ((part * HIDDEN_BOUND) / 1.96)).toBeCloseTo(1, 2);
    expect(Math.abs(found.shift[2]! - SHIFT[2])).toBeLessThan(1.96 * found.std[2]!);
  });
});

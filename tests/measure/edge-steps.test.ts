import { describe, expect, it } from 'vitest';
import { edgeSteps } from '../../src/measure/edge-steps.js';
import { type TileEdges, tileEdges } from '../../src/measure/tile-edges.js';
import { measureFiles, ORIGIN, type TestPoint } from './point-batches.js';

const params = {
  borders: [{ low: 0, high: 1, across: 'x' as const, at: ORIGIN[0], from: ORIGIN[1], to: ORIGIN[1] + 3 }],
  depth: 1,
  cell: 1,
  minPoints: 6,
};

/** Points every 0.2 m in cells 0 to 2 on one side of x = 0, the nearest `from` metres away. */
const side = (sign: 1 | -1, height: (x: number, y: number) => number, from = 0.1): TestPoint[] =>
  [0, 0.2, 0.4, 0.6].flatMap((dx) =>
    Array.from({ length: 15 }, (_, k) => {
      const [x, y] = [sign * (from + dx), 0.1 + k * 0.2];
      return { x, y, z: height(x, y), source: 1 };
    }),
  );

function stepsOf(west: TestPoint[], east: TestPoint[], more: object = {}) {
  const { measurement, params: own } = edgeSteps.from(params);
  expect(measurement).toBe(tileEdges.id);
  return edgeSteps.derive(measureFiles(tileEdges, own, [west, east]) as TileEdges, { ...params, ...more });
}

const slope = (x: number, y: number) => 5.03 + 0.05 * x - 0.02 * y;

describe('steps at edges of files', () => {
  it('a planted step of 20 mm on sloping ground comes back, east minus west, with the gap between the points', () => {
    const [found] = stepsOf(
      side(-1, slope),
      side(1, (x, y) => slope(x, y) + 0.02),
    );
    expect(found).toMatchObject({ border: 0, pass: 1, cells: 3, gapCells: 3 });
    expect(found.step).toBeCloseTo(0.02, 4);
    expect(found.gap).toBeCloseTo(0.2, 9);
    expect(found.places).toHaveLength(3);
  });

  it('unbroken ground has no step', () => {
    const [found] = stepsOf(side(-1, slope), side(1, slope, 0.3));
    expect(found.step).toBeCloseTo(0, 4);
    expect(found.gap).toBeCloseTo(0.4, 9);
  });

  it('a wall that crosses the border shows how far one side is shifted along it', () => {
    // A wall that turns by 0.1 from the way across, 2 m high; 10 points a layer of 0.5 m and more.
    const wall = (sign: 1 | -1, shift: number): TestPoint[] =>
      Array.from({ length: 200 }, (_, k) => {
        const x = sign * (0.05 + (k % 20) * 0.045);
        return { x, y: 1.4 + 0.1 * x + shift, z: 6 + Math.floor(k / 20) * 0.2, source: 1 };
      });
    const found = stepsOf([...side(-1, slope), ...wall(-1, 0)], [...side(1, slope), ...wall(1, 0.03)])[0];
    expect(found.walls).toBe(4);
    expect(found.shift).toBeCloseTo(0.03 / Math.hypot(1, 0.1), 3);
    expect(found.step).toBeCloseTo(0, 4);
    expect(stepsOf(side(-1, slope), side(1, slope))[0]).toMatchObject({ walls: 0, shift: null });
  });

  it('ends along a straight line are those of points that were cut off', () => {
    expect(stepsOf(side(-1, slope), side(1, slope, 0.3))[0].straight).toBe(true);
    const oblique = side(1, slope).map((p) => ({ ...p, x: p.x + (p.y - 0.1) * 0.4 }));
    expect(stepsOf(side(-1, slope), oblique)[0].straight).toBe(false);
  });

  it('sleepers and ballast are too uneven for a step', () => {
    // Heights alternate by 80 mm from row to row.
    const rough = (x: number) => 5.03 + (Math.round(Math.abs(x) * 5) % 2) * 0.08;
    expect(stepsOf(side(-1, rough), side(1, rough))[0]).toMatchObject({ cells: 0, step: null, gapCells: 3 });
  });

  it('too few points, steep ground and different slopes show no step, but the gap', () => {
    const flat = () => 5.03;
    const none = { cells: 0, step: null, stepStd: null, gapCells: 3 };
    expect(stepsOf(side(-1, flat), side(1, flat), { minPoints: 21 })[0]).toMatchObject(none);
    // 0.2 is 11.3 degrees, above the limit of 10; 0.1 against 0 is 5.7 degrees, above the 5 within which planes agree.
    const steep = (x: number) => 5.03 + 0.2 * x;
    expect(stepsOf(side(-1, steep), side(1, steep))[0]).toMatchObject(none);
    expect(
      stepsOf(
        side(-1, flat),
        side(1, (x) => 5.03 + 0.1 * x),
      )[0],
    ).toMatchObject(none);
  });

  it('counts cells with their middle inside the area only', () => {
    const [x, y] = ORIGIN;
    const outer = [x - 1, y, x + 1, y, x + 1, y + 1.9, x - 1, y + 1.9];
    const area = { polygons: [{ outer, holes: [] }], margin: 0 };
    expect(stepsOf(side(-1, slope), side(1, slope), { area })[0].cells).toBe(2);
  });

  it('one side alone gives a row without figures, and no points give no row', () => {
    expect(stepsOf(side(-1, slope), [])).toEqual([
      expect.objectContaining({
        border: 0,
        pass: 1,
        cells: 0,
        step: null,
        gapCells: 0,
        gap: null,
        shared: [],
        places: [],
      }),
    ]);
    expect(stepsOf([], [])).toEqual([]);
  });
});

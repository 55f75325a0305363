import { describe, expect, it } from 'vitest';
import { edgeSteps } from '../../src/measure/edge-steps.js';
import { type TileEdges, tileEdges } from '../../src/measure/tile-edges.js';
import { measureFiles, ORIGIN, type TestPoint } from './point-batches.js';

const params = {
  borders: [{ low: 0, high: 1, across: 'x' as const, at: ORIGIN[0], from: ORIGIN[1], to: ORIGIN[1] + 3 }],
  depth: 1,
  cell: 1,
  minPoints: 6,
  row: 2,
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
    // Its normal points 0.1 to the west for 1 to the north.
    expect(found.shiftBearing).toBeCloseTo(180 - (Math.atan(0.1) * 180) / Math.PI, 1);
    expect(found.step).toBeCloseTo(0, 4);
    expect(stepsOf(side(-1, slope), side(1, slope))[0]).toMatchObject({ walls: 0, shift: null });
  });

  it('walls on both sides of north have a mean bearing between them', () => {
    const wall = (sign: 1 | -1, y: number, slope: number): TestPoint[] =>
      Array.from({ length: 200 }, (_, k) => {
        const x = sign * (0.05 + (k % 20) * 0.045);
        return { x, y: y + slope * x, z: 6 + Math.floor(k / 20) * 0.2, source: 1 };
      });
    const both = ([-1, 1] as const).map((sign) => [
      ...side(sign, slope),
      ...wall(sign, 1.5, 0.2),
      ...wall(sign, 2.5, -0.2),
    ]);
    const { walls, shiftBearing } = stepsOf(both[0], both[1])[0];
    expect(walls).toBe(8);
    expect(Math.min(shiftBearing!, 180 - shiftBearing!)).toBeCloseTo(0, 6);
  });

  describe('a slit in a part of the border', () => {
    const long = { borders: [{ ...params.borders[0], to: ORIGIN[1] + 8 }] };
    /** Points every 0.2 m over 8 m; the nearest in each cell as far away as `from` says, none where it says null. */
    const strip = (sign: 1 | -1, from: (cell: number) => number | null): TestPoint[] =>
      Array.from({ length: 40 * 4 }, (_, k) => ({ y: 0.1 + (k % 40) * 0.2, row: Math.floor(k / 40) })).flatMap(
        ({ y, row }) => {
          const begin = from(Math.floor(y));
          const x = 0.1 + row * 0.2;
          return begin === null || x < begin ? [] : [{ x: sign * x, y, z: 5, source: 1 }];
        },
      );
    const found = (from: (cell: number) => number | null, more: object = {}) => {
      const own = edgeSteps.from({ ...params, ...long }).params;
      const state = measureFiles(tileEdges, own, [strip(-1, () => 0), strip(1, from)]) as TileEdges;
      return edgeSteps.derive(state, { ...params, ...long, row: 3, ...more })[0];
    };

    it('is the width that so many cells in a row have', () => {
      const cut = (cell: number) => (cell >= 2 && cell < 5 ? 0.6 : 0);
      // 0.1 m on the west side and 0.7 m on the east side.
      expect(found(cut).partGap).toBeCloseTo(0.8, 9);
      expect(found(cut).gap).toBeCloseTo(0.2, 9);
      expect(found(cut, { row: 4 }).partGap).toBeCloseTo(0.2, 9);
      expect(found(() => 0).partGap).toBeCloseTo(0.2, 9);
      expect(found(() => 0, { row: 9 }).partGap).toBeNull();
    });

    it('is as wide as the strip where one side is empty, and ends where the pass ends', () => {
      const empty = (cell: number) => (cell >= 2 && cell < 5 ? null : 0);
      expect(found(empty).partGap).toBeCloseTo(1.1, 9);
      // The pass ends in the eastern tile after 3 m: nothing shows where it would have gone on.
      expect(found((cell) => (cell >= 3 ? null : 0)).partGap).toBeCloseTo(0.2, 9);
    });

    it('is not asked for where the points are sparse, nor outside the area', () => {
      const cut = (cell: number) => (cell >= 2 && cell < 5 ? 0.6 : 0);
      expect(found(cut, { minPoints: 21 }).partGap).toBeNull();
      const [x, y] = ORIGIN;
      const outer = [x - 9, y + 4, x + 9, y + 4, x + 9, y + 8, x - 9, y + 8];
      expect(found(cut, { area: { polygons: [{ outer, holes: [] }], margin: 0 } }).partGap).toBeCloseTo(0.2, 9);
    });
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

  it('a crown inside the strip of one side shows no step, but the same bend on both sides of the border does', () => {
    // The slope changes by 5 % a third of a metre from the border: the plane there is off by 7 mm at the border.
    const crown = (x: number) => 5.03 + 0.05 * Math.max(0, x - 0.33);
    expect(stepsOf(side(-1, crown), side(1, crown))[0]).toMatchObject({ cells: 0, step: null, gapCells: 3 });
    const bend = (_: number, y: number) => 5.03 + 0.05 * Math.max(0, y - 1.5);
    const [both] = stepsOf(
      side(-1, bend),
      side(1, (x, y) => bend(x, y) + 0.02),
    );
    expect(both.cells).toBe(3);
    expect(both.step).toBeCloseTo(0.02, 4);
  });

  it('the spacing of sparse points is no slit', () => {
    const sparse = side(1, slope, 0.5).filter((_, k) => k % 5 === 0);
    const few = side(-1, slope).filter((_, k) => k % 5 === 0);
    expect(stepsOf(few, sparse)[0]).toMatchObject({ gapCells: 3, gap: null });
    expect(stepsOf(side(-1, slope), sparse)[0].gap).toBeGreaterThan(0.5);
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

import { describe, expect, it } from 'vitest';
import { type GroundCells, type GroundCellsParams, groundCells } from '../../src/measure/ground-cells.js';
import { measureFiles, type TestPoint } from './point-batches.js';

const PLAIN: GroundCellsParams = { cell: 1, ground: [2, 11], noise: [7, 18], within: null };
const measure = (points: TestPoint[], more: Partial<GroundCellsParams> = {}, size = 1000) =>
  measureFiles(groundCells, { ...PLAIN, ...more }, [points], size) as GroundCells;

/** Ground of height z(x, y) in cells 0 to n of both directions, one point in the middle of each. */
function plain(n: number, z: (x: number, y: number) => number, kind = 2): TestPoint[] {
  return Array.from({ length: n * n }, (_, k) => {
    const [x, y] = [k % n, Math.floor(k / n)];
    return { x: x + 0.5, y: y + 0.5, z: z(x, y), class: kind };
  });
}

const at = (cells: GroundCells, x: number, y: number) =>
  [...cells.column.keys()].find((k) => cells.column[k] === 561_000 + x && cells.row[k] === 5_932_000 + y)!;

describe('ground in cells', () => {
  it('knows lowest and highest ground, and the lowest of all else but noise', () => {
    const cells = measure(
      [
        { x: 0.2, y: 0.2, z: 5, class: 2 },
        { x: 0.8, y: 0.2, z: 5.5, class: 11 },
        { x: 0.8, y: 0.9, z: 4.5, class: 1 },
        { x: 0.8, y: 0.9, z: 3, class: 7 },
        { x: 0.8, y: 0.9, z: 2, class: 2, flags: 4 },
        { x: 1.5, y: 0.5, z: 1, class: 6 },
        { x: -0.5, y: 0.5, z: 6, class: 2 },
      ],
      {},
      2,
    );
    expect([...cells.column]).toEqual([560_999, 561_000]);
    expect([...cells.row]).toEqual([5_932_000, 5_932_000]);
    expect([...cells.low]).toEqual([6, 5]);
    expect([...cells.high]).toEqual([6, 5.5]);
    expect([...cells.otherLow]).toEqual([Number.NaN, 4.5]);
  });

  it('compares with three or more cells around, across blocks of 32 cells too', () => {
    const cells = measure(plain(70, (x, y) => x + y / 100));
    const corner = at(cells, 0, 0);
    expect([cells.aroundMin[corner], cells.aroundMax[corner]]).toEqual([0.01, 1.01]);
    for (const [x, y] of [
      [31, 32],
      [32, 31],
      [63, 63],
      [40, 5],
    ]) {
      const k = at(cells, x, y);
      expect(cells.aroundMin[k]).toBeCloseTo(x - 1 + (y - 1) / 100, 9);
      expect(cells.aroundMax[k]).toBeCloseTo(x + 1 + (y + 1) / 100, 9);
    }
    const two = measure(plain(70, () => 0).filter((p) => p.y < 1 && p.x < 3));
    expect([...two.aroundMin]).toEqual([Number.NaN, Number.NaN, Number.NaN]);
  });

  it('takes points of a zone only', () => {
    const half = {
      polygons: [
        { outer: [561_000, 5_932_000, 561_002, 5_932_000, 561_002, 5_932_004, 561_000, 5_932_004], holes: [] },
      ],
      margin: 0,
    };
    expect(
      measure(
        plain(4, () => 1),
        { within: half },
      ).column,
    ).toHaveLength(8);
  });
});

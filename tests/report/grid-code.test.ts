import { inflateSync } from 'node:zlib';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Cells, decodeGrid, encodeGrid, type GridHead } from '../../src/report/grid-code.js';
import type { GridResult } from '../../src/report/model.js';
import { bytesFor, packLists, unpackLists } from '../../src/report/packed-lists.js';
import { decodeSectionPoints, encodeSectionPoints } from '../../src/report/section-code.js';

const head: GridHead = { title: 'dz', unit: 'm', cell: 0.5, signed: true, limit: 0.03, sense: 'at-most' };

function cellsOf(list: readonly (readonly [number, number, number])[]): Cells {
  return {
    column: Int32Array.from(list, ([x]) => x),
    row: Int32Array.from(list, ([, y]) => y),
    value: Float64Array.from(list, ([, , v]) => v),
  };
}

function listOf({ column, row, value }: Cells): [number, number, number][] {
  return [...value].map((v, i) => [column[i], row[i], v]);
}

/**
 * Reads a grid number by number as specs/report.schema.json words it, without the arrays and loops of the writer: the
 * proof that the description suffices.
 */
function readAsDescribed(grid: GridResult): [number, number, number][] {
  const bytes = inflateSync(Buffer.from(grid.data, 'base64'));
  const listStart = [0, 4 * grid.runs, 8 * grid.runs, 12 * grid.runs];
  const number = (list: number, count: number, width: number, index: number) => {
    let code = 0;
    for (let plane = 0; plane < width; plane++) code += bytes[listStart[list] + plane * count + index] * 256 ** plane;
    return code % 2 === 0 ? code / 2 : -(code + 1) / 2;
  };
  expect(bytes.length).toBe(12 * grid.runs + grid.bytes * grid.cells);
  const found: [number, number, number][] = [];
  let row = 0;
  let behind = 0;
  for (let run = 0; run < grid.runs; run++) {
    row += number(0, grid.runs, 4, run);
    const column = behind + number(1, grid.runs, 4, run);
    const length = number(2, grid.runs, 4, run);
    for (let k = 0; k < length; k++)
      found.push([column + k, row, number(3, grid.cells, grid.bytes, found.length) * grid.step]);
    behind = column + length;
  }
  return found;
}

const someCells = fc.uniqueArray(
  fc.tuple(
    fc.integer({ min: -12_000_000, max: 12_000_000 }),
    fc.integer({ min: -40, max: 40 }),
    fc.integer({ min: -200_000, max: 200_000 }).map((quanta) => quanta * 1e-4),
  ),
  { selector: ([x, y]) => `${x} ${y}`, maxLength: 60 },
);

describe('grids in report.json', () => {
  test('read back as they were, sorted, to the quantum of 0.1 mm, by the words of the schema too', () => {
    fc.assert(
      fc.property(someCells, (list) => {
        const grid = encodeGrid(head, cellsOf(list));
        const sorted = [...list].sort((a, b) => a[1] - b[1] || a[0] - b[0]);
        const back = listOf(decodeGrid(grid));
        expect(back.map(([x, y]) => [x, y])).toEqual(sorted.map(([x, y]) => [x, y]));
        back.forEach(([, , v], i) => {
          expect(Math.abs(v - sorted[i][2])).toBeLessThan(1e-12);
        });
        expect(readAsDescribed(grid)).toEqual(back);
      }),
      { seed: 5, numRuns: 300 },
    );
  });

  test('the order in which cells come does not matter', () => {
    fc.assert(
      fc.property(someCells, (list) => {
        expect(encodeGrid(head, cellsOf([...list].reverse()))).toEqual(encodeGrid(head, cellsOf(list)));
      }),
      { seed: 6, numRuns: 100 },
    );
  });

  test('a cell given twice keeps the worst value; what is no number is left out', () => {
    const twice = cellsOf([
      [4, 1, 0.01],
      [4, 1, -0.03],
      [4, 1, 0.02],
      [5, 1, Number.NaN],
    ]);
    const [kept, ...more] = listOf(decodeGrid(encodeGrid(head, twice)));
    expect(kept.slice(0, 2)).toEqual([4, 1]);
    expect(kept[2]).toBeCloseTo(-0.03, 12);
    expect(more).toEqual([]);
    const thin: GridHead = { ...head, signed: false, sense: 'at-least' };
    expect(decodeGrid(encodeGrid(thin, twice)).value[0]).toBeCloseTo(-0.03, 12);
    expect(decodeGrid(encodeGrid({ ...thin, sense: 'at-most' }, twice)).value[0]).toBeCloseTo(0.02, 12);
  });

  test('densities keep whole points: 7 points in a cell of 0.3 m', () => {
    const grid = encodeGrid({ ...head, unit: 'points/m2', cell: 0.3, signed: false }, cellsOf([[1, 2, 7 / 0.09]]));
    expect(grid.step).toBeCloseTo(1 / 0.09, 9);
    expect(readAsDescribed(grid)[0][2]).toBeCloseTo(7 / 0.09, 9);
    expect(grid.bytes).toBe(1);
  });

  test('other units keep seven digits of the largest value', () => {
    const grid = encodeGrid(
      { ...head, unit: 'm2' },
      cellsOf([
        [0, 0, 12.345678],
        [1, 0, 0.5],
      ]),
    );
    expect(decodeGrid(grid).value[0]).toBeCloseTo(12.34568, 5);
    expect(decodeGrid(encodeGrid({ ...head, unit: 'share' }, cellsOf([[0, 0, 0]]))).value[0]).toBe(0);
  });

  test('too many cells are merged, the worst value is kept, and the report says so', () => {
    const list = Array.from(
      { length: 400 },
      (_, i) => [i % 20, Math.floor(i / 20), i === 210 ? -0.05 : 0.001] as const,
    );
    const grid = encodeGrid(head, cellsOf(list), 50);
    expect(grid).toMatchObject({ cell: 1.5, mergedFrom: 0.5, cells: 49 });
    const back = listOf(decodeGrid(grid));
    expect(back.find(([x, y]) => x === 3 && y === 3)?.[2]).toBeCloseTo(-0.05, 12);
    expect(back.filter(([, , v]) => v < 0)).toHaveLength(1);
    expect(encodeGrid(head, cellsOf(list)).mergedFrom).toBeNull();
  });

  test('cells as far apart as damaged coordinates put them are merged until their distance can be written', () => {
    const given = cellsOf([
      [-2_000_000_000, -2_147_483_648, 0.01],
      [2_000_000_000, 2_147_483_647, -0.02],
    ]);
    const grid = encodeGrid(head, given);
    expect([grid.cell, grid.mergedFrom, grid.cells]).toEqual([1, 0.5, 2]);
    const [far] = listOf(decodeGrid(grid)).slice(-1);
    expect([far[0], far[1]]).toEqual([1_000_000_000, 1_073_741_823]);
  });

  test('a solid patch of a million cells of small values costs little more than a byte a cell', () => {
    let state = 1;
    const noise = () => {
      state = (state * 48271) % 2147483647;
      return Math.round((state / 2147483647 - 0.5) * 100) * 1e-4;
    };
    const side = 1000;
    const cells = {
      column: Int32Array.from({ length: side * side }, (_, i) => i % side),
      row: Int32Array.from({ length: side * side }, (_, i) => Math.floor(i / side)),
      value: Float64Array.from({ length: side * side }, noise),
    };
    const grid = encodeGrid(head, cells);
    expect(grid.runs).toBe(side);
    expect(grid.data.length).toBeLessThan(1.25e6);
  });
});

describe('packed lists', () => {
  test('any whole numbers that fit come back', () => {
    const int = fc.integer({ min: -(2 ** 31), max: 2 ** 31 - 1 });
    fc.assert(
      fc.property(fc.array(int), fc.array(fc.integer({ min: -128, max: 127 })), (wide, narrow) => {
        const text = packLists([
          { values: wide, bytes: 4 },
          { values: narrow, bytes: 1 },
        ]);
        const [a, b] = unpackLists(text, [
          { count: wide.length, bytes: 4 },
          { count: narrow.length, bytes: 1 },
        ]);
        expect([...a]).toEqual(wide);
        expect([...b]).toEqual(narrow);
      }),
      { seed: 8, numRuns: 200 },
    );
  });

  test.each([
    [0, 1],
    [-1, 1],
    [127, 1],
    [-128, 1],
    [128, 2],
    [-32768, 2],
    [32768, 3],
    [-8388608, 3],
    [8388608, 4],
    [2 ** 31 - 1, 4],
    [-(2 ** 31), 4],
    [2 ** 31, 5],
  ])('%i takes %i bytes (range of a two’s complement number of that size)', (value, bytes) => {
    expect(bytesFor(value)).toBe(bytes);
  });

  test('what does not fit is refused, never cut', () => {
    expect(() => packLists([{ values: [128], bytes: 1 }])).toThrow(RangeError);
    expect(() => packLists([{ values: [0.5], bytes: 4 }])).toThrow(RangeError);
    expect(() => packLists([{ values: [Number.NaN], bytes: 4 }])).toThrow(RangeError);
  });
});

test('points of a section read back to 0.1 mm', () => {
  const points = {
    dx: Float64Array.of(0.1234, -0.5),
    dy: Float64Array.of(0, 25.0001),
    dz: Float64Array.of(-3.3333, 0.00004),
    pass: Uint8Array.of(0, 3),
  };
  const data = encodeSectionPoints(points);
  const back = decodeSectionPoints({ points: 2, data } as Parameters<typeof decodeSectionPoints>[0]);
  for (const axis of ['dx', 'dy', 'dz'] as const)
    points[axis].forEach((v, i) => {
      expect(Math.abs(back[axis][i] - v)).toBeLessThan(0.5001e-4);
    });
  expect([...back.pass]).toEqual([0, 3]);
});

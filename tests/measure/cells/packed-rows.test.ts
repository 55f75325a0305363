import { expect, it } from 'vitest';
import { packRows, visitRows } from '../../../src/measure/cells/packed-rows.js';

const HEADER = { id: 'test-rows', version: 2 };

it('gives rows back sorted by number, whatever their lengths, and the same bytes whatever the order they were kept in', () => {
  const rows: [number, number[]][] = [
    [7, [1, Number.POSITIVE_INFINITY]],
    [-2, []],
    [3e9, [0.25, -5, 6]],
  ];
  const packed = packRows(HEADER, new Map(rows));
  expect(new Uint8Array(packRows(HEADER, new Map(rows.toReversed())))).toEqual(new Uint8Array(packed));
  const found: [number, number[]][] = [];
  visitRows(packed, HEADER, (key, row) => found.push([key, [...row]]));
  expect(found).toEqual([rows[1], rows[0], rows[2]]);
});

it('refuses rows of another measurement or version', () => {
  const packed = packRows(HEADER, new Map());
  const read = (header: typeof HEADER) => () => visitRows(packed, header, () => {});
  expect(read(HEADER)).not.toThrow();
  expect(read({ ...HEADER, id: 'other-rows' })).toThrow(RangeError);
  expect(read({ ...HEADER, version: 1 })).toThrow(/version 1/);
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Fault } from '../../../src/fault.js';
import { CellGrid, type CellLayout } from '../../../src/measure/cells/cell-grid.js';
import { headerBytes, readHeader, writeHeader } from '../../../src/measure/cells/packed-header.js';
import { measurements } from '../../../src/measure/index.js';

const LAYOUT = {
  id: 'test-cells',
  version: 3,
  keys: 4,
  cells: 2,
  columns: {
    points: { type: 'u32', merge: 'sum' },
    flags: { type: 'u32', merge: 'or' },
    low: { type: 'i32', merge: 'min' },
    high: { type: 'i32', merge: 'max' },
    sum: { type: 'f64', merge: 'sum' },
    first: { type: 'f64', merge: 'min' },
    last: { type: 'f64', merge: 'max' },
  },
} as const satisfies CellLayout;

interface Entry {
  key: [number, number, number, number];
  cell: number;
  value: number;
}

const whole = (most: number) => fc.integer({ min: -most, max: most });

const entry: fc.Arbitrary<Entry> = fc.record({
  key: fc.tuple(whole(2), whole(1), whole(1), whole(1)),
  cell: fc.integer({ min: 0, max: 1 }),
  value: fc.integer({ min: -1000, max: 1000 }),
});

function gridOf(entries: readonly Entry[]): CellGrid<typeof LAYOUT.columns> {
  const grid = new CellGrid(LAYOUT, [7]);
  for (const { key, cell, value } of entries) {
    const held = grid.open(...key);
    held.points[cell]++;
    held.flags[cell] |= 1 << (value & 7);
    held.low[cell] = Math.min(held.low[cell], value);
    held.high[cell] = Math.max(held.high[cell], value);
    held.sum[cell] += value;
    held.first[cell] = Math.min(held.first[cell], value / 8);
    held.last[cell] = Math.max(held.last[cell], value / 8);
  }
  return grid;
}

describe('cells kept in blocks', () => {
  it('give the bytes of all entries however these are split and ordered, and the figures of plain arithmetic', () => {
    fc.assert(
      fc.property(fc.array(entry, { maxLength: 40 }), fc.integer({ min: 0, max: 40 }), (entries, at) => {
        const merged = new CellGrid(LAYOUT, [7]);
        merged.merge(gridOf(entries.slice(at)).pack());
        merged.merge(gridOf([]).pack());
        merged.merge(gridOf(entries.slice(0, at)).pack());
        expect(new Uint8Array(merged.pack())).toEqual(new Uint8Array(gridOf(entries).pack()));
        for (const { key, cell } of entries) {
          const same = entries.filter((e) => e.cell === cell && `${e.key}` === `${key}`).map((e) => e.value);
          const held = merged.find(...key)!;
          expect(held.points[cell]).toBe(same.length);
          expect(held.flags[cell]).toBe(same.reduce((flags, v) => flags | (1 << (v & 7)), 0));
          expect([held.low[cell], held.high[cell]]).toEqual([Math.min(...same), Math.max(...same)]);
          expect(held.sum[cell]).toBe(same.reduce((sum, v) => sum + v, 0));
          expect([held.first[cell], held.last[cell]]).toEqual([Math.min(...same) / 8, Math.max(...same) / 8]);
        }
      }),
      { seed: 20, numRuns: 200 },
    );
  });

  it('are sorted by key, first number first, and know which keys are not there', () => {
    const grid = new CellGrid(LAYOUT, []);
    const keys: Entry['key'][] = [
      [1, 0, 0, 0],
      [0, 5, 0, 1],
      [0, 5, 0, -1],
      [-1, 9, 9, 9],
    ];
    for (const key of keys) grid.open(...key);
    expect([...grid.sorted()].map((i) => [0, 1, 2, 3].map((part) => grid.key(i, part)))).toEqual([
      [-1, 9, 9, 9],
      [0, 5, 0, -1],
      [0, 5, 0, 1],
      [1, 0, 0, 0],
    ]);
    expect(grid.find(0, 5, 0, 0)).toBeNull();
  });

  it('refuse a count that does not fit in 32 bits and a sum beyond 2^53', () => {
    const counted = new CellGrid(LAYOUT, []);
    counted.open(0, 0).points[1] = 2 ** 31;
    const counts = counted.pack();
    expect(() => counted.merge(counts)).toThrow(Fault);
    const summed = new CellGrid(LAYOUT, []);
    summed.open(0, 0).sum[0] = -(2 ** 52) - 1;
    const sums = summed.pack();
    expect(() => summed.merge(sums)).toThrow(/test-cells, sum: a cell holds more points than can be counted exactly/);
  });

  it('refuse cells of another measurement, version or parameter', () => {
    const grid = new CellGrid(LAYOUT, [7]);
    expect(() => grid.merge(new CellGrid(LAYOUT, [8]).pack())).toThrow(/other parameters/);
    expect(() => grid.merge(new CellGrid({ ...LAYOUT, version: 4 }, [7]).pack())).toThrow(/version 3/);
    expect(() => grid.merge(new CellGrid({ ...LAYOUT, id: 'other' }, [7]).pack())).toThrow(/test-cells/);
    expect(() => grid.merge(new ArrayBuffer(4))).toThrow(RangeError);
  });
});

describe('header of a packed state', () => {
  it('gives back its counts and tells all measurements apart', () => {
    for (const { id } of measurements) {
      const packed = new ArrayBuffer(headerBytes(3));
      writeHeader(packed, { id, version: 2 }, [5, -1, 0]);
      for (const other of measurements) {
        const read = () => [...readHeader(packed, { id: other.id, version: 2 }, 3)];
        if (other.id === id) expect(read()).toEqual([5, -1, 0]);
        else expect(read).toThrow(RangeError);
      }
    }
  });
});

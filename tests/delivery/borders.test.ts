import { describe, expect, it, vi } from 'vitest';
import { findBorders } from '../../src/delivery/borders.js';
import { type DeliveredFile, type DeliveryFacts, fileAt, fileIndexOf } from '../../src/delivery/delivery.js';
import { BoxIndex } from '../../src/geometry/box-index.js';
import { fileOf } from '../checks/judge.js';

function box(index: number, min: [number, number], max: [number, number]): DeliveredFile {
  return fileOf(`tile ${index}`, index, { header: { min: [...min, 0], max: [...max, 5] } });
}

describe('borders between files', () => {
  it('four tiles have four borders, none across the corner', () => {
    const tiles = [
      box(0, [0, 0], [24.99, 24.98]),
      box(1, [25, 0.01], [50, 24.99]),
      box(2, [0, 25], [24.97, 50]),
      box(3, [25.02, 25.01], [50, 50]),
    ];
    const borders = findBorders(tiles, 1, 2);
    expect(borders.map(({ low, high, across }) => [low, high, across])).toEqual([
      [0, 1, 'x'],
      [0, 2, 'y'],
      [1, 3, 'y'],
      [2, 3, 'x'],
    ]);
    expect(borders[0]).toMatchObject({ from: 0.01, to: 24.98 });
    expect(borders[0].at).toBeCloseTo(24.995, 12);
  });

  it('files of the same ground, files far apart and unreadable ones have none', () => {
    expect(findBorders([box(0, [0, 0], [50, 50]), box(1, [0.5, 0.2], [50.5, 49])], 1, 2)).toEqual([]);
    expect(findBorders([box(0, [0, 0], [50, 50]), box(1, [55, 0], [100, 50])], 1, 2)).toEqual([]);
    expect(findBorders([box(0, [0, 0], [50, 50]), { ...box(1, [50, 0], [100, 50]), header: null }], 1, 2)).toEqual([]);
    expect(findBorders([box(0, [0, 0], [50, 50]), box(1, [50, 49], [100, 90])], 1, 2)).toEqual([]);
  });

  it('files that end farther apart adjoin up to the widest slit, unless a third file lies between', () => {
    const apart = [box(0, [0, 0], [50, 50]), box(1, [55, 0], [100, 50])];
    expect(findBorders(apart, 1, 2, 10)).toEqual([{ low: 0, high: 1, across: 'x', at: 52.5, from: 0, to: 50, gap: 5 }]);
    expect(findBorders([...apart, box(2, [50, 0], [55, 50])], 1, 2, 10).map(({ low, high }) => [low, high])).toEqual([
      [0, 2],
      [2, 1],
    ]);
  });

  it.each([Number.NaN, Infinity, -Infinity])('a header that holds %s has none', (value) => {
    for (const at of [0, 1]) {
      const low = box(0, [0, 0], [at === 0 ? value : 50, at === 1 ? value : 50]);
      expect(findBorders([low, box(1, [50, 0], [100, 50])], 1, 2)).toEqual([]);
    }
  });

  it('extents in feet are compared in metres', () => {
    const feet = [box(0, [0, 0], [82, 82]), box(1, [82, 0], [164, 82])].map((f) => ({ ...f, horizontalUnit: 0.3048 }));
    const [border] = findBorders(feet, 1, 2);
    expect(border.at).toBeCloseTo(82 * 0.3048, 9);
    expect(border.to).toBeCloseTo(82 * 0.3048, 9);
  });
});

describe('work that grows with the number of files', () => {
  /** Tiles of 50 m, `count` of them in rows of 40. */
  const tiles = (count: number) =>
    Array.from({ length: count }, (_, i) => {
      const [x, y] = [(i % 40) * 50, Math.floor(i / 40) * 50];
      return box(i, [x, y], [x + 50, y + 50]);
    });

  it('twice the files: twice the boxes compared, and hardly more', () => {
    const compared = (count: number) => {
      const lookups = vi.spyOn(BoxIndex.prototype, 'meeting');
      expect(findBorders(tiles(count), 1, 2, 10)).toHaveLength(2 * count - 40 - count / 40);
      const indexes = new Set(lookups.mock.contexts as BoxIndex[]);
      lookups.mockRestore();
      return [...indexes].reduce((sum, index) => sum + index.compared, 0);
    };
    expect(compared(800)).toBeLessThan(2.3 * compared(400));
    expect(compared(1600)).toBeLessThan(2.3 * compared(800));
  });

  it('the file at a location is found among twice the files with hardly more comparisons', () => {
    const compared = (count: number) => {
      const facts = { files: tiles(count) } as unknown as DeliveryFacts;
      for (let i = 0; i < 100; i++) expect(fileAt(facts, (i % 40) * 50 + 25, 25)).toBe(`tile ${i % 40}`);
      return fileIndexOf(facts).compared;
    };
    expect(compared(1600)).toBeLessThan(1.2 * compared(800));
  });
});

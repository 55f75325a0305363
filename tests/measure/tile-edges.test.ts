import { describe, expect, it } from 'vitest';
import { EDGE_FIELDS, type TileEdges, tileEdges } from '../../src/measure/tile-edges.js';
import { batchOf, measureFiles, measureMerged, ORIGIN, type TestPoint } from './point-batches.js';

/** A border along y at x = 10, from y = 0 to 4; file 0 west, file 1 east. */
const params = {
  borders: [{ low: 0, high: 1, across: 'x' as const, at: ORIGIN[0] + 10, from: ORIGIN[1], to: ORIGIN[1] + 4 }],
  depth: 0.01,
  cell: 1,
};

/** Side, pass, cell along the border and layer of height; the sums; nearest point. */
const rowsOf = ({ keys, records }: TileEdges) =>
  [...keys.sorted()].map((r) => [
    [keys.part(r, 0), keys.part(r, 1), keys.part(r, 2) - ORIGIN[1], keys.part(r, 3)],
    [...records.subarray(r * EDGE_FIELDS, (r + 1) * EDGE_FIELDS)],
  ]);

describe('tile edges', () => {
  const west: TestPoint[] = [
    { x: 9.998, y: 1.0003, z: 0.0002, source: 3 },
    { x: 9.999, y: 1.0001, z: 0.0004, source: 3 },
    { x: 9.9899, y: 1, z: 0, source: 3 },
    { x: 9.999, y: 1, z: 0, source: 3, flags: 4 },
    { x: 9.999, y: 4.0001, z: 0, source: 3 },
    { x: 9.999, y: -0.0001, z: 0, source: 3 },
  ];
  const east: TestPoint[] = [{ x: 10.0005, y: 0, z: -0.0001, source: 3 }];
  const expected = [
    // Distances from the border into the file: 20 and 10 steps of 0.1 mm; along the cell 3 and 1; heights 2 and 4.
    [
      [0, 3, 1, 0],
      [2, 4, 30, 6, 10, 70, 10, 500, 80, 20, 10],
    ],
    // The layer below 0 begins half a cell lower: 5,000 steps, of which 4,999 are below the point.
    [
      [1, 3, 0, -1],
      [1, 0, 5, 4999, 0, 0, 0, 25, 5 * 4999, 4999 ** 2, 5],
    ],
  ];

  it('sum the points in the strip on either side, in cells along the border and layers of height', () => {
    expect(rowsOf(measureFiles(tileEdges, params, [west, east], 2) as TileEdges)).toEqual(expected);
    expect(rowsOf(measureMerged(tileEdges, params, [west, east]) as TileEdges)).toEqual(expected);
  });

  it('hold nothing of files without a border, and nothing without points', () => {
    expect(rowsOf(measureFiles(tileEdges, params, []) as TileEdges)).toEqual([]);
    expect(rowsOf(measureFiles(tileEdges, { ...params, borders: [] }, [west, east]) as TileEdges)).toEqual([]);
    expect(rowsOf(measureFiles(tileEdges, params, [[], [], west]) as TileEdges)).toEqual([]);
  });

  it('refuse more points in a cell than can be summed exactly, when adding and when merging', () => {
    const state = tileEdges.create(params);
    tileEdges.add(state, batchOf([west[0]]));
    // 2^53 / 10,000^2 for cells of 1 m in steps of 0.1 mm
    expect(state.mostPoints).toBe(90_071_992);
    state.records[0] = state.mostPoints;
    const full = tileEdges.pack(state);
    expect(() => tileEdges.merge(tileEdges.create(params), full)).not.toThrow();
    expect(() => tileEdges.merge(state, full)).toThrow(/more points of one pass than can be summed exactly/);
    state.records[0] = state.mostPoints;
    expect(() => tileEdges.add(state, batchOf([west[0]]))).toThrow(/more points of one pass/);
  });
});

const square = (x0: number, y0: number, x1: number, y1: number) => ({
  polygons: [{ outer: [x0, y0, x1, y0, x1, y1, x0, y1, x0, y0], holes: [] }],
  margin: 0,
});

/** A vehicle that drives past the points: epochs every 5 s for 400 s, a hole in the middle; arrays in shared memory as in a run. */
const track = (() => {
  const rows = Array.from({ length: 81 }, (_, k) => [
    5 * k,
    560_990 + k / 4,
    5_932_000 - k / 20,
    k === 40 ? Number.NaN : 15,
  ]);
  const column = (k: number, scale: number) => Float64Array.from(rows, (row) => row[k] * scale);
  const shared = { time: column(0, 1), east: column(1, 1e4), north: column(2, 1e4), up: column(3, 1e4) };
  return { digest: 'a track', shared };
})();

/** Parameters with which the laws are tried; every registered measurement has at least one set. */
export const sampleParams: Record<string, unknown[]> = {
  'attribute-codes': [
    {
      attributes: ['angle', 'class', 'colour', 'intensity', 'returns', 'source', 'time'],
      wholeDegrees: [1],
      within: null,
      area: null,
    },
    {
      attributes: ['class', 'place'],
      wholeDegrees: [],
      within: square(560_998, 5_931_998, 561_004, 5_932_005),
      area: { ...square(560_999, 5_931_999, 561_001, 5_932_001), margin: 0.5 },
    },
  ],
  'cell-heights': [
    { cell: 2, returns: 'single' },
    { cell: 1, returns: 'last' },
  ],
  'class-counts': [null],
  'class-returns': [null],
  'density-grid': [
    { cell: 1, count: 'all' },
    { cell: 0.25, count: 'first' },
    { cell: 0.5, count: 'last' },
    { cell: 3, count: 'only' },
  ],
  duplicates: [
    { same: 'xyz', draw: 'places', most: 20, level: 0, within: null },
    {
      same: 'xyz-time-return',
      draw: 'places',
      most: 1000,
      level: 2,
      within: square(560_998, 5_931_998, 561_004, 5_932_005),
    },
    { same: 'xyz-time-return', draw: 'points', most: 7, level: 1, within: null },
  ],
  'ground-cells': [
    { cell: 1, ground: [2, 11], noise: [7, 18], within: null },
    { cell: 0.3, ground: [2], noise: [], within: square(560_998, 5_931_998, 561_004, 5_932_005) },
  ],
  'header-recount': [null],
  'outside-boxes': [{ boxes: [[5_610_000_000, 59_319_980_000, 5_610_020_000, 59_320_030_000], null] }],
  'pass-cells': [{ cell: 0.5, firstReturns: true }, { cell: 1 }, { cell: 0.3 }],
  'pass-times': [{ cell: 0.5 }, { cell: 2 }],
  'pass-tracks': [{ cell: 0.5 }, { cell: 3 }],
  'plane-moments': [{ voxel: 0.5 }, { voxel: 4 }, { voxel: 0.5, moved: { passes: [1, 2], by: [3, -2, 1] } }],
  'point-counts': [null],
  'point-seconds': [null],
  'pulse-times': [{ most: 2 }, { most: 40 }],
  'range-cells': [
    { cell: 1, limit: 6, track },
    { cell: 0.3, limit: 40, track },
  ],
  'structure-facts': [{ fields: [] }, { fields: [{ file: 1, fields: [{ offset: 0, type: 3, noData: [7] }] }] }],
  'survey-neighbourhoods': [
    { points: [{ x: 561_001, y: 5_932_000.5, z: 13 }], radius: 2, classes: null, most: 5 },
    {
      points: Array.from({ length: 12 }, (_, k) => ({ x: 560_998 + k, y: 5_932_000 + (k % 3), z: 12.9 })),
      radius: 1.5,
      classes: [2, 11],
      most: 1000,
    },
  ],
  'time-order': [null],
  'target-neighbourhoods': [
    {
      targets: [
        { x: 561_001, y: 5_932_000.5, z: 13, radius: 2 },
        { x: 561_000.2, y: 5_932_001.5, z: 13, radius: 1 },
      ],
      most: 6,
    },
  ],
  'tile-edges': [
    {
      borders: [
        { low: 0, high: 1, across: 'x', at: 561_001, from: 5_931_997, to: 5_932_005 },
        { low: 1, high: 2, across: 'y', at: 5_932_001.5, from: 560_997, to: 561_005, gap: 0.2 },
      ],
      depth: 1.5,
      cell: 1,
    },
  ],
  'time-segments': [{ gap: 10 }],
  'voxel-counts': [{ voxel: 1 }, { voxel: 0.25 }, { voxel: 0.7, without: [7, 18] }],
};

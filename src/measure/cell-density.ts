import type { DensityGrid } from './density-grid.js';
import type { PassCells } from './pass-cells.js';

/** Points in square cells whatever their pass, from the cells that the overview needs anyway: points are counted once. */
export const cellDensity = {
  id: 'cell-density',
  from: ({ cell }: { cell: number }) => ({ measurement: 'pass-cells', params: { cell } }),
  derive: ({ cell, column, row, points }: PassCells): DensityGrid => ({
    cell,
    count: 'all',
    column,
    row,
    points: Uint32Array.from(points),
  }),
};

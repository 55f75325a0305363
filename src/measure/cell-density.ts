import { type Derivation, requestFrom } from './contract/measurement.js';
import type { DensityGrid } from './density-grid.js';
import { passCells } from './pass-cells.js';

/** Cells in which points are counted. */
export interface CellDensityParams {
  /** Edge of a square cell, metres; cells are anchored at multiples of it from world 0, 0. */
  cell: number;
}

/**
 * Number of valid points in each square cell, all passes together, derived from the cells that the overview needs anyway: so
 * the points are counted once.
 */
export const cellDensity: Derivation<'cell-density', typeof passCells, CellDensityParams, DensityGrid> = {
  id: 'cell-density',
  parameters: { cell: 'required' },
  from: ({ cell }) => requestFrom(passCells, { cell }),
  derive: ({ cell, column, row, points }) => ({
    cell,
    count: 'all',
    column,
    row,
    points: Uint32Array.from(points),
  }),
};

import { type Derivation, requestFrom } from './contract/measurement.js';
import type { DensityGrid } from './density-grid.js';
import { passCells } from './pass-cells.js';

export interface CellDensityParams {
  /** Edge of a square cell, metres; cells are anchored at multiples of it from world 0, 0. */
  cell: number;
}

/** Points in square cells whatever their pass, from the cells that the overview needs anyway: points are counted once. */
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

import { type CellHeightsParams, cellHeights, type PassHeights } from './cell-heights.js';
import { KeyTable } from './cells/key-table.js';
import { type Derivation, requestFrom } from './contract/measurement.js';

/** Cells, and the points that one must hold. */
export interface SwathPrecisionParams extends Pick<CellHeightsParams, 'cell'> {
  /** Points a cell must hold. */
  minPoints: number;
}

/** Cells of one pass whose eight neighbours are all there: middle in world metres, slope-corrected range in metres. */
export interface SwathPrecision {
  pass: number;
  x: Float64Array;
  y: Float64Array;
  z: Float64Array;
  precision: Float64Array;
}

/** Steeper cells are no level ground (10 degrees: USGS base specification, revision history of version 1.3). */
const MAX_SLOPE = Math.tan((10 * Math.PI) / 180);
/** The published formula has the diagonal of a cell as 1.414 times its edge. */
// biome-ignore lint/suspicious/noApproximativeNumericConstant: the printed factor of the specification
const DIAGONAL = 1.414;

/**
 * Precision within a swath as the USGS Lidar Base Specification publishes it (2025 rev. A, intraswath precision):
 * Precision = Range - Slope * CellSize * 1.414, Range the highest minus the lowest point of a cell, Slope the steepest to
 * its eight neighbours, from the lowest points. It can be below zero on a slope, and is not changed then.
 */
export const swathPrecision: Derivation<'swath-precision', typeof cellHeights, SwathPrecisionParams, SwathPrecision[]> =
  {
    id: 'swath-precision',
    parameters: { cell: 'required', minPoints: 'required' },
    from: ({ cell }) => requestFrom(cellHeights, { cell, returns: 'single' }),

    derive: (passes, params) => passes.map((pass) => precisionOfPass(pass, params)),
  };

function precisionOfPass(cells: PassHeights, { cell, minPoints }: SwathPrecisionParams): SwathPrecision {
  const places = new KeyTable(cells.column.length);
  for (let i = 0; i < cells.column.length; i++) places.add(cells.column[i], cells.row[i], 0, 0);
  const found: number[] = [];
  for (let i = 0; i < cells.column.length; i++) {
    if (cells.points[i] < minPoints) continue;
    const slope = steepestSlope(cells, places, i, cell);
    if (slope === null || slope > MAX_SLOPE) continue;
    const precision = slopeCorrectedRange(cells.high[i] - cells.low[i], slope, cell);
    found.push((cells.column[i] + 0.5) * cell, (cells.row[i] + 0.5) * cell, cells.mean[i], precision);
  }
  const pick = (k: number) => Float64Array.from({ length: found.length / 4 }, (_, i) => found[i * 4 + k]);
  return { pass: cells.pass, x: pick(0), y: pick(1), z: pick(2), precision: pick(3) };
}

/** Range - Slope * CellSize * 1.414, in metres. @param slope metres per metre; `range` and `cell` in metres */
export function slopeCorrectedRange(range: number, slope: number, cell: number): number {
  return range - slope * cell * DIAGONAL;
}

function steepestSlope(cells: PassHeights, places: KeyTable, i: number, cell: number): number | null {
  let steepest = 0;
  for (let dy = -1; dy <= 1; dy++) {
    for (let dx = -1; dx <= 1; dx++) {
      if (dx === 0 && dy === 0) continue;
      const next = places.find(cells.column[i] + dx, cells.row[i] + dy, 0, 0);
      if (next < 0) return null;
      const slope = Math.abs(cells.low[next] - cells.low[i]) / (cell * Math.sqrt(dx * dx + dy * dy));
      if (slope > steepest) steepest = slope;
    }
  }
  return steepest;
}

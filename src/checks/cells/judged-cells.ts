import { zoneByName } from '../../delivery/zones.js';
import { outlineCells } from '../../geometry/outline.js';
import type { CountedReturns, DensityGrid } from '../../measure/density-grid.js';
import { fact } from '../../measure/fact-types.js';
import type { JudgeContext } from '../contract/check.js';
import { zoneRaster } from './zone-raster.js';

/** The request for the number of points in cells: where all returns count, it is computed from the cells of the passes. */
export function cellsRequest(cell: number, count: CountedReturns) {
  return count === 'all' ? fact('cell-density', { cell }) : fact('density-grid', { cell, count });
}

/** The same counts in cells of twice the edge. */
export function joinCells(grid: DensityGrid): DensityGrid {
  const points = new Map<number, Map<number, number>>();
  for (let i = 0; i < grid.points.length; i++) {
    const [x, y] = [grid.column[i] >> 1, grid.row[i] >> 1];
    const row = points.get(y) ?? new Map<number, number>();
    row.set(x, (row.get(x) ?? 0) + grid.points[i]);
    points.set(y, row);
  }
  const joined = [...points.keys()]
    .sort((a, b) => a - b)
    .flatMap((y) => [...points.get(y)!].sort(([a], [b]) => a - b).map(([x, n]) => [x, y, n]));
  return {
    ...grid,
    cell: grid.cell * 2,
    column: Int32Array.from(joined, ([x]) => x),
    row: Int32Array.from(joined, ([, y]) => y),
    points: Uint32Array.from(joined, ([, , n]) => n),
  };
}

/** Cells that count: complete ones, empty ones among them. Sorted by row, then column. */
export interface JudgedCells {
  column: Int32Array;
  row: Int32Array;
  points: Float64Array;
  /** Cells cut by the edge of the zone or on the rim of the data: not judged. */
  partial: number;
}

/** The outside of the data does not enter through gaps of this many cells or fewer. */
const NECK_CELLS = 2;

/**
 * In a zone: the cells wholly inside its polygons, empty or not. Without one: the occupied cells of the data and the empty
 * cells they enclose; cells on the rim are left out, because the data end somewhere inside them.
 */
export function judgedCells(grid: DensityGrid, zoneName: string | undefined, context: JudgeContext): JudgedCells {
  return zoneName === undefined ? cellsOfData(grid) : cellsOfZone(grid, zoneName, context);
}

function cellsOfZone(grid: DensityGrid, zoneName: string, context: JudgeContext): JudgedCells {
  const { polygons } = zoneByName(context.delivery, zoneName);
  const raster = zoneRaster(zoneName, polygons, grid.cell);
  const column = new Int32Array(raster.insideCount);
  const row = new Int32Array(raster.insideCount);
  const points = new Float64Array(raster.insideCount);
  let at = 0;
  let cell = 0;
  for (let y = raster.minRow; y < raster.minRow + raster.rows; y++) {
    while (cell < grid.row.length && grid.row[cell] < y) cell++;
    const runs = raster.runs(y);
    for (let r = 0; r < runs.length; r += 2) {
      for (let x = runs[r]; x < runs[r + 1]; x++) {
        while (cell < grid.row.length && grid.row[cell] === y && grid.column[cell] < x) cell++;
        column[at] = x;
        row[at] = y;
        points[at++] =
          cell < grid.row.length && grid.row[cell] === y && grid.column[cell] === x ? grid.points[cell] : 0;
      }
    }
  }
  return { column, row, points, partial: raster.partialCount };
}

function cellsOfData(grid: DensityGrid): JudgedCells {
  const outlined = outlineCells(grid.column, grid.row, NECK_CELLS);
  const total = outlined.column.length;
  let partial = 0;
  for (let i = 0; i < total; i++) partial += outlined.rim[i];
  const column = new Int32Array(total - partial);
  const row = new Int32Array(total - partial);
  const points = new Float64Array(total - partial);
  let at = 0;
  for (let i = 0; i < total; i++) {
    if (outlined.rim[i]) continue;
    column[at] = outlined.column[i];
    row[at] = outlined.row[i];
    points[at++] = outlined.source[i] < 0 ? 0 : grid.points[outlined.source[i]];
  }
  return { column, row, points, partial };
}

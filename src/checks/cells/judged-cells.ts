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

/** The same counts in cells of twice the edge. Pairs of rows are merged from west to east, as they are sorted. */
export function joinCells(grid: DensityGrid): DensityGrid {
  const count = grid.points.length;
  const column = new Int32Array(count);
  const row = new Int32Array(count);
  const points = new Uint32Array(count);
  let joined = 0;
  for (let from = 0, end = 0; from < count; from = end) {
    const y = grid.row[from] >> 1;
    while (end < count && grid.row[end] === grid.row[from]) end++;
    let north = end;
    while (end < count && grid.row[end] >> 1 === y) end++;
    let south = from;
    const middle = north;
    for (let last = Number.NaN; south < middle || north < end; ) {
      const takesSouth = north === end || (south < middle && grid.column[south] <= grid.column[north]);
      const i = takesSouth ? south++ : north++;
      const x = grid.column[i] >> 1;
      if (x !== last) {
        column[joined] = x;
        row[joined++] = y;
        last = x;
      }
      points[joined - 1] += grid.points[i];
    }
  }
  return {
    ...grid,
    cell: grid.cell * 2,
    column: column.slice(0, joined),
    row: row.slice(0, joined),
    points: points.slice(0, joined),
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

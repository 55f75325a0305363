import { joinRuns, type Run, subtractRuns } from './column-runs.js';
import type { Polygon } from './polygon.js';

/**
 * World-anchored square cells under polygons, as runs along rows: cell (column, row) spans column * cell to
 * (column + 1) * cell, and the same for rows. Memory grows with the outline, not with the area.
 */
export interface PolygonRaster {
  cellMetres: number;
  minColumn: number;
  minRow: number;
  /** Width and height, in cells, of the rectangle of cells round all polygons; both 0 when there is none. */
  columns: number;
  rows: number;
  /** Number of cells fully inside, and of those the outline passes through. */
  insideCount: number;
  partialCount: number;
  /** Cells of a row fully inside: pairs of first column and column past the last, from left to right. Do not write to it. */
  runs(row: number): Int32Array;
  /** Cells of a row that the outline passes through, in the same form. */
  partialRuns(row: number): Int32Array;
  stateOf(column: number, row: number): 'inside' | 'partial' | 'outside';
}

/** Vertices and crossings this near to a cell border (in cells) count as on it: coordinates in decimals are not exact. */
const SNAP = 1e-6;
/** Largest number of edge rows accepted: a 10 km road at 0.25 m has about 10^5. */
const MOST_EDGE_ROWS = 2 ** 26;

/**
 * Cells fully inside at least one of the polygons, and cells that an edge passes through. An edge along a cell border
 * passes through neither neighbour: a zone that ends on cell borders is filled completely. A cell cut by one polygon but
 * fully inside another is inside.
 *
 * Throws RangeError for a cell size that is not positive, coordinates that are not finite, and polygons so large for the
 * cell that columns overflow 32 bits.
 */
export function rasterisePolygons(polygons: readonly Polygon[], cellMetres: number): PolygonRaster {
  if (!(cellMetres > 0 && Number.isFinite(cellMetres))) throw new RangeError(`a cell of ${cellMetres} m`);
  const shapes = polygons.map((polygon) => shapeOf(polygon, cellMetres)).filter((shape) => shape.rows.length > 0);
  let minRow = Number.POSITIVE_INFINITY;
  let maxRow = Number.NEGATIVE_INFINITY;
  let minColumn = Number.POSITIVE_INFINITY;
  let maxColumn = Number.NEGATIVE_INFINITY;
  for (const shape of shapes) {
    minRow = Math.min(minRow, shape.minRow);
    maxRow = Math.max(maxRow, shape.minRow + shape.rows.length);
    minColumn = Math.min(minColumn, shape.minColumn);
    maxColumn = Math.max(maxColumn, shape.maxColumn);
  }
  const rows = shapes.length > 0 ? maxRow - minRow : 0;
  const inside: Int32Array[] = [];
  const partial: Int32Array[] = [];
  let insideCount = 0;
  let partialCount = 0;
  for (let r = 0; r < rows; r++) {
    const in_: Run[] = [];
    const cut: Run[] = [];
    for (const shape of shapes) {
      const edges = shape.rows[minRow + r - shape.minRow];
      if (edges) fillRow(shape, edges, minRow + r, in_, cut);
    }
    const full = joinRuns(in_);
    inside.push(flatten(full));
    const rest = subtractRuns(joinRuns(cut), full);
    partial.push(flatten(rest));
    for (const [begin, end] of full) insideCount += end - begin;
    for (const [begin, end] of rest) partialCount += end - begin;
  }
  const none = new Int32Array(0);
  const runs = (row: number) => inside[row - minRow] ?? none;
  const partialRuns = (row: number) => partial[row - minRow] ?? none;
  return {
    cellMetres,
    minColumn: rows > 0 ? minColumn : 0,
    minRow: rows > 0 ? minRow : 0,
    columns: rows > 0 ? maxColumn - minColumn : 0,
    rows,
    insideCount,
    partialCount,
    runs,
    partialRuns,
    stateOf: (column, row) =>
      holds(runs(row), column) ? 'inside' : holds(partialRuns(row), column) ? 'partial' : 'outside',
  };
}

/** Visits every cell fully inside the polygons, row by row upwards, each row from left to right. */
export function cellsInside(
  polygons: readonly Polygon[],
  cellMetres: number,
  visit: (column: number, row: number) => void,
): void {
  const raster = rasterisePolygons(polygons, cellMetres);
  for (let row = raster.minRow; row < raster.minRow + raster.rows; row++) {
    const runs = raster.runs(row);
    for (let i = 0; i < runs.length; i += 2) {
      for (let column = runs[i]; column < runs[i + 1]; column++) visit(column, row);
    }
  }
}

/** One polygon in units of cells, with its edges sorted into the rows they pass through. */
interface Shape {
  /** Edges of all rings, four numbers each (u0, v0, u1, v1), the lower end first. */
  edges: Float64Array;
  /** Ring of each edge: 0 the outer one, then the holes. */
  ring: Int32Array;
  rings: number;
  minRow: number;
  minColumn: number;
  maxColumn: number;
  /** For every row, the edges that pass through its inside. */
  rows: number[][];
}

function shapeOf(polygon: Polygon, cell: number): Shape {
  const rings = [polygon.outer, ...polygon.holes];
  const numbers: number[] = [];
  const ringOf: number[] = [];
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let left = Number.POSITIVE_INFINITY;
  let right = Number.NEGATIVE_INFINITY;
  rings.forEach((ring, index) => {
    for (let i = 0; i + 1 < ring.length; i += 2) {
      const j = (i + 2) % ring.length;
      const u0 = inCells(ring[i], cell);
      const v0 = inCells(ring[i + 1], cell);
      const u1 = inCells(ring[j], cell);
      const v1 = inCells(ring[j + 1], cell);
      if (v0 <= v1) numbers.push(u0, v0, u1, v1);
      else numbers.push(u1, v1, u0, v0);
      ringOf.push(index);
      low = Math.min(low, v0);
      high = Math.max(high, v0);
      left = Math.min(left, u0);
      right = Math.max(right, u0);
    }
  });
  const edges = Float64Array.from(numbers);
  const minRow = Math.floor(low);
  const count = ringOf.length > 0 ? Math.ceil(high) - minRow : 0;
  if (count > MOST_EDGE_ROWS) throw new RangeError(`a polygon spans ${count} rows of ${cell} m cells`);
  const rows: number[][] = Array.from({ length: count }, () => []);
  let total = 0;
  for (let e = 0; e < ringOf.length; e++) {
    const v0 = edges[4 * e + 1];
    const v1 = edges[4 * e + 3];
    const last = v0 === v1 ? (Number.isInteger(v0) ? Math.floor(v0) - 1 : Math.floor(v0)) : Math.ceil(v1) - 1;
    total += last - Math.floor(v0) + 1;
    if (total > MOST_EDGE_ROWS) throw new RangeError(`the outline is too long for cells of ${cell} m`);
    for (let row = Math.floor(v0); row <= last; row++) rows[row - minRow].push(e);
  }
  return {
    edges,
    ring: Int32Array.from(ringOf),
    rings: rings.length,
    minRow,
    minColumn: count > 0 ? Math.floor(left) : 0,
    maxColumn: count > 0 ? Math.ceil(right) : 0,
    rows,
  };
}

/** Appends the runs of one polygon in one row to `inside` and `cut`. */
function fillRow(shape: Shape, edgesOfRow: readonly number[], row: number, inside: Run[], cut: Run[]): void {
  const own: Run[] = [];
  const crossings: { at: number; ring: number }[] = [];
  const middle = row + 0.5;
  for (const e of edgesOfRow) {
    const v0 = shape.edges[4 * e + 1];
    const v1 = shape.edges[4 * e + 3];
    const atLow = v0 >= row ? shape.edges[4 * e] : crossingAt(shape.edges, 4 * e, row);
    const atHigh = v1 <= row + 1 ? shape.edges[4 * e + 2] : crossingAt(shape.edges, 4 * e, row + 1);
    const first = Math.floor(Math.min(atLow, atHigh));
    // An upright edge on a cell border has no width and touches the inside of no cell: the run is empty.
    const end = atLow === atHigh && !Number.isInteger(atLow) ? first + 1 : Math.ceil(Math.max(atLow, atHigh));
    if (end > first) own.push([first, end]);
    if (v0 <= middle && v1 > middle)
      crossings.push({ at: crossingAt(shape.edges, 4 * e, middle), ring: shape.ring[e] });
  }
  const touched = joinRuns(own);
  for (const run of touched) cut.push(run);
  crossings.sort((a, b) => a.at - b.at || a.ring - b.ring);
  for (const run of subtractRuns(filledRuns(crossings, shape.rings), touched)) inside.push(run);
}

/** Runs of cells whose centre lies in the outer ring and in no hole, from the crossings of the row's middle line. */
function filledRuns(crossings: readonly { at: number; ring: number }[], rings: number): Run[] {
  const runs: Run[] = [];
  const within = new Uint8Array(rings);
  let holes = 0;
  for (let i = 0; i + 1 < crossings.length; i++) {
    const { at, ring } = crossings[i];
    within[ring] ^= 1;
    if (ring > 0) holes += within[ring] ? 1 : -1;
    if (!within[0] || holes > 0) continue;
    const begin = Math.ceil(at - 0.5);
    const end = Math.ceil(crossings[i + 1].at - 0.5);
    if (end > begin) runs.push([begin, end]);
  }
  return joinRuns(runs);
}

function crossingAt(edges: Float64Array, at: number, v: number): number {
  const share = (v - edges[at + 1]) / (edges[at + 3] - edges[at + 1]);
  return snap(edges[at] + share * (edges[at + 2] - edges[at]));
}

function inCells(metres: number, cell: number): number {
  if (!Number.isFinite(metres)) throw new RangeError(`a polygon has the coordinate ${metres}`);
  const cells = snap(metres / cell);
  if (Math.abs(cells) > 2 ** 31 - 2) throw new RangeError(`${metres} m is out of reach for cells of ${cell} m`);
  return cells;
}

function snap(value: number): number {
  const whole = Math.round(value);
  return Math.abs(value - whole) <= SNAP ? whole : value;
}

function flatten(runs: readonly Run[]): Int32Array {
  const flat = new Int32Array(2 * runs.length);
  for (let i = 0; i < runs.length; i++) flat.set(runs[i], 2 * i);
  return flat;
}

function holds(runs: Int32Array, column: number): boolean {
  let low = 0;
  let high = runs.length / 2;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (runs[2 * middle + 1] <= column) low = middle + 1;
    else high = middle;
  }
  return 2 * low < runs.length && runs[2 * low] <= column;
}

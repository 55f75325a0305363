import type { GridResult } from './model.js';
import { bytesFor, packLists, unpackLists } from './packed-lists.js';

/** Cells of a grid, each once, sorted by row, then column: column and row are floor(world / cell). */
export interface Cells {
  column: Int32Array;
  row: Int32Array;
  value: Float64Array;
}

export type GridHead = Pick<GridResult, 'title' | 'unit' | 'cell' | 'signed' | 'limit' | 'sense'>;

/** Cells are merged when there are more than this: a report with more cells is too large to be opened. */
const MOST_CELLS = 12_000_000;
/** Largest number of steps that the usual step of a unit may lead to. */
const MOST_STEPS = 2 ** 30;

/**
 * A grid as report.json holds it. A cell given twice keeps the worst value. Cells are merged when there are too many or they
 * are too far apart; a merged cell keeps the worst value, and `mergedFrom` states the edge of the cells before, metres. Cells whose
 * value is not a finite number are left out.
 *
 * @param head `cell` is the edge of a cell, metres
 * @param most number of cells above which neighbours are merged, two by two, three by three, and so on
 */
export function encodeGrid(head: GridHead, given: Cells, most = MOST_CELLS): GridResult {
  let cells = distinctCells(given, head);
  let factor = 1;
  while (cells.value.length > most || isTooWide(cells)) {
    factor++;
    cells = mergeCells(given, head, factor);
  }
  const step = stepFor(head, cells.value);
  const runs = runsOf(cells);
  const values = new Int32Array(cells.value.length);
  let bytes = 1;
  for (let i = 0; i < values.length; i++) {
    values[i] = Math.round(cells.value[i] / step);
    bytes = Math.max(bytes, bytesFor(values[i]));
  }
  return {
    ...head,
    cell: head.cell * factor,
    mergedFrom: factor === 1 ? null : head.cell,
    cells: values.length,
    runs: runs.length.length,
    step,
    bytes,
    data: packLists([
      { values: runs.row, bytes: 4 },
      { values: runs.column, bytes: 4 },
      { values: runs.length, bytes: 4 },
      { values, bytes },
    ]),
  };
}

/** Whether cells are so far apart that their distance does not fit into 32 bits, as in a damaged file. */
function isTooWide({ column, row }: Cells): boolean {
  return spread(column) >= 2 ** 31 || spread(row) >= 2 ** 31;
}

function spread(list: Int32Array): number {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  for (const k of list) {
    if (k < low) low = k;
    if (k > high) high = k;
  }
  return high - low;
}

/** The cells of a grid of report.json; values in the unit of the grid. */
export function decodeGrid({ cells, runs, bytes, step, data }: GridResult): Cells {
  const [rowSteps, columnSteps, lengths, values] = unpackLists(data, [
    { count: runs, bytes: 4 },
    { count: runs, bytes: 4 },
    { count: runs, bytes: 4 },
    { count: cells, bytes },
  ]);
  const column = new Int32Array(cells);
  const row = new Int32Array(cells);
  let at = 0;
  let x = 0;
  let y = 0;
  for (let r = 0; r < runs; r++) {
    y += rowSteps[r];
    x += columnSteps[r];
    for (let k = 0; k < lengths[r]; k++, at++) {
      column[at] = x++;
      row[at] = y;
    }
  }
  return { column, row, value: Float64Array.from(values, (v) => v * step) };
}

/**
 * Runs of neighbouring cells in a row: row minus the row of the run before, column minus the column after the last one of the
 * run before, and length.
 */
function runsOf({ column, row }: Cells): { row: number[]; column: number[]; length: number[] } {
  const runs = { row: [] as number[], column: [] as number[], length: [] as number[] };
  let x = 0;
  let y = 0;
  for (let i = 0; i < column.length; i++) {
    const last = runs.length.length - 1;
    if (last >= 0 && row[i] === y && column[i] === x) runs.length[last]++;
    else {
      runs.row.push(row[i] - y);
      runs.column.push(column[i] - x);
      runs.length.push(1);
      y = row[i];
    }
    x = column[i] + 1;
  }
  return runs;
}

/**
 * The step to which values are rounded: the quantum of coordinates for lengths, one point for counts and densities, otherwise a
 * millionth of the power of ten of the largest value.
 */
function stepFor({ unit, cell }: GridHead, values: Float64Array): number {
  let largest = 0;
  for (let i = 0; i < values.length; i++) largest = Math.max(largest, Math.abs(values[i]));
  const usual = unit === 'm' ? 1e-4 : unit === 'count' ? 1 : unit === 'points/m2' ? 1 / (cell * cell) : 0;
  if (usual > 0 && largest / usual < MOST_STEPS && (unit === 'm' || areMultiples(values, usual))) return usual;
  return largest === 0 ? 1 : 10 ** (Math.floor(Math.log10(largest)) - 6);
}

function areMultiples(values: Float64Array, step: number): boolean {
  for (let i = 0; i < values.length; i++) {
    const steps = values[i] / step;
    if (Math.abs(steps - Math.round(steps)) > 1e-6) return false;
  }
  return true;
}

/** The cells sorted by row, then column, each once; cells whose value is not a finite number are left out. */
function distinctCells(given: Cells, head: GridHead): Cells {
  const { column, row, value } = given;
  let clean = true;
  for (let i = 0; i < value.length && clean; i++) {
    clean =
      Number.isFinite(value[i]) &&
      (i === 0 || row[i] > row[i - 1] || (row[i] === row[i - 1] && column[i] > column[i - 1]));
  }
  if (clean) return given;
  const order = Int32Array.from(value, (_, i) => i)
    .filter((i) => Number.isFinite(value[i]))
    .sort((i, j) => row[i] - row[j] || column[i] - column[j]);
  const kept: Cells = {
    column: new Int32Array(order.length),
    row: new Int32Array(order.length),
    value: new Float64Array(order.length),
  };
  let at = -1;
  for (const i of order) {
    if (at >= 0 && kept.row[at] === row[i] && kept.column[at] === column[i]) {
      kept.value[at] = worst(kept.value[at], value[i], head);
      continue;
    }
    at++;
    kept.column[at] = column[i];
    kept.row[at] = row[i];
    kept.value[at] = value[i];
  }
  const length = at + 1;
  return {
    column: kept.column.subarray(0, length),
    row: kept.row.subarray(0, length),
    value: kept.value.subarray(0, length),
  };
}

function mergeCells({ column, row, value }: Cells, head: GridHead, factor: number): Cells {
  return distinctCells(
    { column: column.map((x) => Math.floor(x / factor)), row: row.map((y) => Math.floor(y / factor)), value },
    head,
  );
}

/** The worse of two values: the one farther from zero, or farther on the bad side of the limit. Their order does not matter. */
function worst(a: number, b: number, { signed, sense }: GridHead): number {
  if (sense === 'at-least') return Math.min(a, b);
  if (!signed) return Math.max(a, b);
  return Math.abs(a) === Math.abs(b) ? Math.max(a, b) : Math.abs(a) > Math.abs(b) ? a : b;
}

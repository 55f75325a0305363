import { KeyTable } from '../measure/key-table.js';

/** Cells of the plan, sorted by row, then column, each with the value of largest size that lies in it. */
export function largestByCell(x: Float64Array, y: Float64Array, value: Float64Array, cell: number) {
  const places = new KeyTable(x.length);
  const largest: number[] = [];
  for (let i = 0; i < x.length; i++) {
    const at = places.add(Math.floor(y[i] / cell), Math.floor(x[i] / cell), 0, 0);
    if (at === largest.length) largest.push(value[i]);
    else if (Math.abs(value[i]) > Math.abs(largest[at])) largest[at] = value[i];
  }
  const cells = places.sorted();
  return {
    column: cells.map((at) => places.part(at, 1)),
    row: cells.map((at) => places.part(at, 0)),
    value: Float64Array.from(cells, (at) => largest[at]),
  };
}

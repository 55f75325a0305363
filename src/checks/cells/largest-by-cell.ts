import { BLOCK_CELLS, CellBlocks, cellInBlock } from '../../measure/cells/cell-blocks.js';

/** Cells of the plan, sorted by row, then column, each with the value of largest size that lies in it. */
export function largestByCell(x: Float64Array, y: Float64Array, value: Float64Array, cell: number) {
  const blocks = new CellBlocks();
  const largest: Float64Array[] = [];
  let count = 0;
  for (let i = 0; i < x.length; i++) {
    const column = Math.floor(x[i] / cell);
    const row = Math.floor(y[i] / cell);
    const block = blocks.add(column, row);
    if (block === largest.length) largest.push(new Float64Array(BLOCK_CELLS).fill(Number.NaN));
    const at = cellInBlock(column, row);
    const known = largest[block][at];
    if (Math.abs(value[i]) <= Math.abs(known)) continue;
    if (Number.isNaN(known)) count++;
    largest[block][at] = value[i];
  }
  const cells = { column: new Int32Array(count), row: new Int32Array(count), value: new Float64Array(count) };
  let k = 0;
  blocks.walk((column, row, block, at) => {
    const found = largest[block][at];
    if (Number.isNaN(found)) return;
    cells.column[k] = column;
    cells.row[k] = row;
    cells.value[k++] = found;
  });
  return cells;
}

import type { PassHeights } from '../../src/measure/cell-heights.js';

/** Cells of one pass, written down as column, row, points, lowest, highest and mean height. */
export function heightsOf(pass: number, rows: readonly (readonly number[])[]): PassHeights {
  const pick = (k: number) => rows.map((row) => row[k]);
  return {
    pass,
    column: Int32Array.from(pick(0)),
    row: Int32Array.from(pick(1)),
    points: Uint32Array.from(pick(2)),
    low: Float64Array.from(pick(3)),
    high: Float64Array.from(pick(4)),
    mean: Float64Array.from(pick(5)),
  };
}

/** Nine cells around column and row 0, of one height each. */
export function nineCells(height: (column: number, row: number) => number, points = 5, range = 0.02): number[][] {
  const steps = [-1, 0, 1];
  return steps.flatMap((row) =>
    steps.map((column) => {
      const z = height(column, row);
      return [column, row, points, z, z + range, z + range / 2];
    }),
  );
}

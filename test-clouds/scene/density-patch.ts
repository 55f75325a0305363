import { Random } from '../../src/simulate/scene/random.js';
import type { SceneColumns } from '../../src/simulate/writer/point-columns.js';
import { createSceneColumns } from '../../src/simulate/writer/point-columns.js';

/** A level patch of square cells in which the number of points of every cell is known exactly. */
export interface DensityPatchOptions {
  /** South-west corner; multiples of the cell size make the cells world-anchored ones. */
  origin: readonly [number, number];
  columns: number;
  rows: number;
  /** Metres; a whole number of millimetres. */
  cell: number;
  /** Points in each cell, the same for all or by column and row; pass after pass. */
  perCell: number | ((column: number, row: number, pass: number) => number);
  passes?: number;
  height?: number;
  /** Standard deviation of the height, metres; default 0. */
  noise?: number;
  seed: number;
}

/**
 * Points at random inside their cells, on a grid of 1 mm that never touches the upper edges, so that rounding cannot move a
 * point into the next cell.
 */
export function densityPatch(options: DensityPatchOptions): SceneColumns {
  const { origin, columns, rows, cell, perCell, seed } = options;
  const passes = options.passes ?? 1;
  const noise = options.noise ?? 0;
  const random = new Random(seed);
  const countOf = typeof perCell === 'number' ? () => perCell : perCell;
  let total = 0;
  for (let pass = 0; pass < passes; pass++) {
    for (let row = 0; row < rows; row++) {
      for (let column = 0; column < columns; column++) total += countOf(column, row, pass);
    }
  }
  const out = createSceneColumns(total);
  const originX = Math.round(origin[0] * 1000);
  const originY = Math.round(origin[1] * 1000);
  const side = Math.round(cell * 1000);
  for (let pass = 0; pass < passes; pass++) {
    for (let row = 0; row < rows; row++) {
      for (let column = 0; column < columns; column++) {
        for (let k = countOf(column, row, pass); k > 0; k--) {
          const i = out.count++;
          out.x[i] = (originX + column * side + random.below(side)) / 1000;
          out.y[i] = (originY + row * side + random.below(side)) / 1000;
          out.z[i] = Math.round(((options.height ?? 10) + noise * random.normal()) * 1000) / 1000;
          out.intensity[i] = 10_000;
          out.returnNumber[i] = 1;
          out.returnCount[i] = 1;
          out.classification[i] = 2;
          out.pointSourceId[i] = pass + 1;
          out.gpsTime[i] = 419_724_800 + pass * 600 + i * 1e-5;
        }
      }
    }
  }
  return out;
}

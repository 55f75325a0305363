import type { DeliveredFile, DeliveryFacts } from '../delivery/delivery.js';
import type { Facts } from '../engine/facts.js';
import type { ClassReturns } from '../measure/class-returns.js';
import { fact } from '../measure/fact-types.js';
import type { PassCells } from '../measure/pass-cells.js';
import { encodeGrid } from '../report/grid-code.js';
import type { Overview, Report } from '../report/model.js';

/** Cell sizes of the overview, metres. */
const CELLS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];
/** With more cells the report would be slow to open, and they could not be distinguished on a screen. */
const MOST_CELLS = 4_000_000;

/** The facts that the overview needs of every delivery, whatever the spec asks for. */
export function overviewRequests(files: readonly DeliveredFile[]) {
  return { cells: fact('pass-cells', { cell: overviewCell(files) }), labels: fact('class-returns', null) };
}

/**
 * Edge of the cells of the overview, metres: the smallest in the list with which the overview has at most four million cells. The
 * number is estimated from the headers: a file has at most the cells in its extent, and at most as many as it has points.
 */
export function overviewCell(files: readonly DeliveredFile[]): number {
  for (const cell of CELLS) {
    let cells = 0;
    for (const { header, horizontalUnit } of files) {
      if (!header) continue;
      const side = (axis: number) => Math.max(0, header.max[axis] - header.min[axis]) * horizontalUnit;
      const box = (side(0) / cell + 1) * (side(1) / cell + 1);
      // Where the extent in the header is not a number, only the number of points limits the cells.
      cells += Number.isNaN(box) ? header.pointCount : Math.min(header.pointCount, box);
    }
    if (cells <= MOST_CELLS) return cell;
  }
  return CELLS[CELLS.length - 1];
}

/** An overview without cells, for runs in which an internal error prevented its measurement. */
const NO_CELLS: Pick<PassCells, 'cell' | 'column' | 'row' | 'points' | 'set' | 'sets'> = {
  cell: 1,
  column: new Int32Array(0),
  row: new Int32Array(0),
  points: new Float64Array(0),
  set: new Int32Array(0),
  sets: [],
};
const NO_LABELS: ClassReturns = { classes: [], returns: [], pulses: [] };

/** The overview, and the facts of the delivery that are measured with it: area (square metres), classes, returns and pulses. */
export function overviewOf(
  facts: Facts,
  { files, passes }: DeliveryFacts,
): { overview: Overview; labels: Pick<Report['delivery'], 'area' | 'classes' | 'returns' | 'pulses'> } {
  const requests = overviewRequests(files);
  const labels = facts.getOrNull(requests.labels);
  const { cell, column, row, points, set, sets } = facts.getOrNull(requests.cells) ?? NO_CELLS;
  const head = { cell, signed: false, limit: null, sense: null };
  const some = points.length > 0;
  return {
    overview: {
      density: some
        ? encodeGrid(
            { ...head, title: 'Point density', unit: 'points/m2' },
            { column, row, value: points.map((n) => n / (cell * cell)) },
          )
        : null,
      passes: some
        ? encodeGrid({ ...head, title: 'Passes', unit: 'count' }, { column, row, value: Float64Array.from(set) })
        : null,
      passSets: sets.map((keys) => keys.map((key) => passes.findIndex((pass) => pass.key === key))),
    },
    labels: { area: some ? points.length * cell * cell : null, ...(labels ?? NO_LABELS) },
  };
}

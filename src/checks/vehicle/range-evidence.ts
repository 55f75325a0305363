import { fileAt, passLabel } from '../../delivery/delivery.js';
import type { RangeCells } from '../../measure/range-cells.js';
import type { Evidence, JudgeContext, Location } from '../contract/check.js';
import { addCells, Classes, type RangeClass, rmsDzOf, rmsOf, type SeenGround } from './distance-classes.js';
import type { FarArea } from './far-areas.js';

/** What a table of classes is made of. */
interface ClassView {
  /** Edge of the cells, metres, and the places that a class needs for an RMS. */
  cell: number;
  minCells: number;
}

/** Density, precision and agreement of passes by distance from the scanner. */
export function distanceTable(classes: readonly RangeClass[], view: ClassView): Evidence {
  return {
    kind: 'table',
    title: 'By distance from the scanner',
    columns: [
      { key: 'from', title: 'from', unit: 'm' },
      { key: 'to', title: 'to', unit: 'm' },
      { key: 'points', title: 'points', unit: 'count' },
      { key: 'density', title: 'density of a pass', unit: 'points/m2' },
      ...SURFACE_COLUMNS,
      { key: 'compared', title: 'heights of two passes compared', unit: 'count' },
      { key: 'rmsDz', title: 'RMS dz', unit: 'm' },
    ],
    rows: classes.map((one) => [
      one.from,
      one.to,
      one.points,
      densityOf(one, view.cell),
      one.patches,
      rmsOf(one, view.minCells),
      one.compared,
      rmsDzOf(one, view.minCells),
    ]),
  };
}

const SURFACE_COLUMNS = [
  { key: 'patches', title: 'smooth level patches', unit: 'count' as const },
  { key: 'rms', title: 'RMS about planes', unit: 'm' as const },
];

/** Precision by the angle between the beam and the normal of level ground; empty where no surfaces were measured. */
export function incidenceTable(classes: readonly RangeClass[], minCells: number): Evidence[] {
  if (classes.length === 0) return [];
  return [
    {
      kind: 'table',
      title: 'By angle of incidence on level ground',
      columns: [
        { key: 'from', title: 'from', unit: 'degree' },
        { key: 'to', title: 'to', unit: 'degree' },
        ...SURFACE_COLUMNS,
      ],
      rows: classes.map((one) => [one.from, one.to, one.patches, rmsOf(one, minCells)]),
    },
  ];
}

/** Points by the mean distance of their cell. */
export function distanceHistogram(classes: readonly RangeClass[], limit: number | undefined): Evidence {
  return {
    kind: 'histogram',
    title: 'Points by distance from the scanner',
    unit: 'm',
    edges: [0, ...classes.map(({ to }) => to)],
    counts: classes.map(({ points }) => points),
    ...(limit === undefined ? {} : { limit, sense: 'at-most' as const }),
  };
}

/** Density of every pass along the distance from the scanner. */
export function densitySeries(
  passes: readonly RangeCells[],
  bin: number,
  cell: number,
  context: JudgeContext,
): Evidence {
  return {
    kind: 'series',
    title: 'Density of each pass by distance from the scanner',
    unit: 'points/m2',
    along: { title: 'distance from the scanner', unit: 'm' },
    lines: passes.map((pass) => {
      const classes = new Classes(bin);
      addCells(classes, [pass]);
      const x = classes.list.map(({ from, to }) => (from + to) / 2);
      return { name: passLabel(context.delivery, pass.pass), x, y: classes.list.map((one) => densityOf(one, cell)) };
    }),
  };
}

function densityOf({ points, cells }: RangeClass, cell: number): number | null {
  return cells === 0 ? null : points / (cells * cell * cell);
}

/** Map of the nearest distance from which each cell was seen. */
export function nearestGrid({ column, row, nearest }: SeenGround, cell: number, limit: number | undefined): Evidence {
  // Maps are sorted by row, then column; cells were found by column, then row.
  const order = Uint32Array.from({ length: column.length }, (_, i) => i).sort(
    (a, b) => row[a] - row[b] || column[a] - column[b],
  );
  return {
    kind: 'grid',
    title: 'Nearest distance from a scanner',
    unit: 'm',
    cell,
    cells: {
      column: Int32Array.from(order, (i) => column[i]),
      row: Int32Array.from(order, (i) => row[i]),
      value: Float64Array.from(order, (i) => nearest[i]),
    },
    ...(limit === undefined ? {} : { limit, sense: 'at-most' as const }),
    signed: false,
  };
}

/** The largest areas that were seen from far only. */
export function farPlaces(areas: readonly FarArea[], { delivery }: JudgeContext): Location[] {
  return areas.slice(0, LISTED).map(({ area, x, y, nearest }) => {
    const file = fileAt(delivery, x, y);
    return {
      x,
      y,
      ...(file ? { file } : {}),
      value: area,
      unit: 'm2',
      note: `area seen from far only; its farthest cell from ${nearest.toFixed(1)} m`,
    };
  });
}

const LISTED = 10;

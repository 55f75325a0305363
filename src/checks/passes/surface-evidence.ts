import { passLabel } from '../../delivery/delivery.js';
import { percentileOfSorted } from '../../geometry/statistics.js';
import { largestByCell } from '../cells/largest-by-cell.js';
import type { Evidence, JudgeContext } from '../contract/check.js';
import type { PlacedValues } from '../contract/placed-values.js';
import type { PassFigures } from './surface-figures.js';

/** A pass in figures, with its name in the report. */
export interface NamedFigures {
  figures: PassFigures;
  name: string;
}

/** How it was measured, and the limit that is drawn. */
export interface SurfaceView {
  method: 'planes' | 'cells';
  cell: number;
  voxel: number;
  maxP95?: number;
}

/** Every pass in figures. */
export function passTable(all: readonly PassFigures[], minCells: number, context: JudgeContext): Evidence {
  return {
    kind: 'table',
    title: 'Precision of each pass',
    columns: [
      { key: 'pass', title: 'pass' },
      { key: 'level', title: 'level cells', unit: 'count' },
      { key: 'rough', title: 'rough ones left out', unit: 'count' },
      { key: 'cells', title: 'smooth cells judged', unit: 'count' },
      { key: 'rms', title: 'RMS', unit: 'm' },
      { key: 'p95', title: '95th percentile', unit: 'm' },
      { key: 'range', title: 'peak-to-peak height', unit: 'm' },
      { key: 'judged', title: 'judged' },
    ],
    rows: all.map((f) => [
      passLabel(context.delivery, f.pass),
      f.level,
      f.rough,
      f.cells,
      f.rms,
      f.p95,
      f.range,
      f.cells >= minCells ? 'yes' : 'too few cells',
    ]),
  };
}

/** Twenty equal classes up to the 99th percentile; the last takes the rest, the first what lies below zero. */
export function histogramOf({ figures, name }: NamedFigures, r: SurfaceView): Evidence {
  const sorted = Float64Array.from(figures.value).sort();
  const top = Math.max(percentileOfSorted(sorted, 99), 1e-4);
  const edges = Array.from({ length: 21 }, (_, k) => (k * top) / 20);
  const counts = new Array<number>(20).fill(0);
  for (const v of sorted) counts[Math.min(19, Math.max(0, Math.floor((v / top) * 20)))]++;
  return {
    kind: 'histogram',
    title: `Cells of ${name} by ${r.method === 'cells' ? 'slope-corrected range' : 'RMS about the plane'}`,
    unit: 'm',
    edges,
    counts,
    ...(r.maxP95 !== undefined ? { limit: r.maxP95, sense: 'at-most' as const } : {}),
  };
}

/** Roughness with its places, pass by pass, for the limit of its RMS; none where that is not limited. */
export function roughnessByPlace(
  tested: readonly NamedFigures[],
  { method, cell, voxel, maxRms }: SurfaceView & { maxRms?: number },
): PlacedValues[] {
  if (maxRms === undefined) return [];
  return [
    {
      kind: 'placed-values',
      title: 'RMS of roughness within passes',
      statistic: 'rms',
      unit: 'm',
      limit: maxRms,
      sense: 'at-most',
      cell: method === 'cells' ? cell : voxel,
      sets: tested.map(({ figures: { x, y, value }, name }) => ({ name, places: { x, y }, value })),
    },
  ];
}

/** One value a cell of the plan: where several patches fall into one, the roughest. */
export function gridOf({ figures, name }: NamedFigures, r: SurfaceView): Evidence {
  const cell = r.method === 'cells' ? r.cell : r.voxel;
  return {
    kind: 'grid',
    title: `Roughness within ${name}`,
    unit: 'm',
    cell,
    cells: largestByCell(figures.x, figures.y, figures.value, cell),
    ...(r.maxP95 !== undefined ? { limit: r.maxP95, sense: 'at-most' as const } : {}),
    signed: false,
  };
}

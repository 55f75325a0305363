import { passLabel } from '../delivery/delivery.js';
import { zoneByName } from '../delivery/zones.js';
import type { DensityGrid } from '../measure/density-grid.js';
import { fact } from '../measure/fact-types.js';
import type { PassCells } from '../measure/pass-cells.js';
import { judgedCells } from './cells/judged-cells.js';
import { zoneRaster } from './cells/zone-raster.js';
import type { Check, JudgeContext, Requirement } from './contract/check.js';
import { atLeast, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, inZone, percent, plural, undetermined } from './contract/wording.js';

export interface PointDistributionOptions {
  spacing: number;
  minShare: number;
  perPass: boolean;
}

/** Cells are this many nominal spacings wide (USGS Lidar Base Specification). */
const SPACINGS = 2;
/** A pass with fewer complete cells than this is a scrap at the edge, not a swath. */
const LEAST_CELLS = 20;

const needs = ({ spacing }: Requirement<PointDistributionOptions>) => ({
  cells: fact('pass-cells', { cell: spacing * SPACINGS, firstReturns: true }),
});

/** The figures, and the limits they are held against. */
const metrics = {
  share: metric('share of cells with a first return', 'share', atLeast('minShare')),
  cells: metric('cells', 'count'),
} satisfies Metrics;

export const pointDistribution = {
  id: 'point-distribution',
  title: 'Evenness of the point distribution',
  why: 'A mean density hides clusters: lines of points with bare strips between them give the same mean and a poor surface.',
  sources: [
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'spatial distribution',
      note: 'non-withheld first returns of one pass, cells of twice the nominal pulse spacing, 90 % of them with a return',
    },
  ],
  schema: {
    properties: {
      spacing: {
        type: 'number',
        exclusiveMinimum: 0.005,
        maximum: 100,
        description: 'Nominal pulse spacing, metres; cells are twice as wide.',
      },
      minShare: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 1,
        default: 0.9,
        description: 'Share of the complete cells that must hold a first return, 0 to 1.',
      },
      perPass: {
        type: 'boolean',
        default: true,
        description: 'Whether every pass must be spread evenly by itself, or all together.',
      },
    },
    required: ['spacing'],
  },
  allPoints: true,
  metrics,
  quality: 'DQ_CompletenessOmission',
  needs,

  explain: ({ spacing, minShare, perPass, zone }) =>
    `${perPass ? 'In every pass, at' : 'At'} least ${percent(minShare)} of the complete cells of ${spacing * SPACINGS} m ${inZone(zone)} must hold a first return.`,

  judge({ cells }, requirement, context) {
    const { spacing, minShare, perPass, zone } = requirement;
    const limits = limitsOf(metrics, requirement);
    const passes = perPass ? [...new Set(cells.sets.flat())].sort((a, b) => a - b) : [null];
    const lines = passes
      .map((pass) => {
        const points =
          pass === null
            ? judgedCells(cellsOf(cells, null), zone, context).points
            : swathCells(cellsOf(cells, pass), zone, context);
        return { pass, total: points.length, filled: points.reduce((sum, n) => sum + n, 0) };
      })
      .filter(({ total, filled }) => total >= LEAST_CELLS && filled > 0);
    if (lines.length === 0) {
      return undetermined(
        `Fewer than ${LEAST_CELLS} complete cells of ${spacing * SPACINGS} m lie ${inZone(zone)}, so the spread of points could not be judged.`,
        { limits },
      );
    }
    const shares = lines.map(({ total, filled }) => filled / total);
    const least = shares.reduce((a, b) => Math.min(a, b));
    const worst = lines[shares.indexOf(least)];
    const name = worst.pass === null ? 'all passes together' : passLabel(context.delivery, worst.pass);
    const pass = least >= minShare;
    return {
      state: pass ? 'pass' : 'fail',
      summary: `${percent(least)} of ${plural(worst.total, 'cell')} of ${spacing * SPACINGS} m ${inZone(zone)} hold a first return of ${name} (required: ${percent(minShare)})${lines.length > 1 ? `; the least of ${lines.length} passes` : ''}.`,
      measured: {
        cells: figure(
          lines.reduce((sum, { total }) => sum + total, 0),
          'count',
        ),
        share: figure(least, 'share'),
      },
      limits,
      evidence: [
        {
          kind: 'table',
          title: 'Cells with a first return',
          columns: [
            { key: 'pass', title: 'pass' },
            { key: 'cells', title: 'complete cells', unit: 'count' },
            { key: 'share', title: 'share with a first return', unit: 'share' },
          ],
          rows: lines.map(({ pass: key, total }, i) => [
            key === null ? 'all' : passLabel(context.delivery, key),
            total,
            shares[i],
          ]),
        },
      ],
      advice: pass
        ? []
        : [
            'Driving speed or scan rate did not suit the specified spacing: compare the spacing between scan lines with the spacing along them.',
          ],
    };
  },
} satisfies Check<PointDistributionOptions, typeof needs>;

/**
 * Cells of one pass, full or empty: those it surrounds with its points, as far as they lie in the zone. Where a pass did not
 * come by at all, its emptiness says nothing about how its points are spread.
 */
function swathCells(grid: DensityGrid, zoneName: string | undefined, context: JudgeContext): Float64Array {
  const { column, row, points } = judgedCells(grid, undefined, context);
  if (zoneName === undefined) return points;
  const { polygons } = zoneByName(context.delivery, zoneName);
  const raster = zoneRaster(zoneName, polygons, grid.cell);
  return points.filter((_, i) => raster.stateOf(column[i], row[i]) === 'inside');
}

/** Cells in which the pass (or any pass) has a first return; each counts as one. */
function cellsOf({ cell, column, row, set, sets }: PassCells, pass: number | null): DensityGrid {
  const kept = [...set.keys()].filter((i) => pass === null || sets[set[i]].includes(pass));
  return {
    cell,
    count: 'first',
    column: Int32Array.from(kept, (i) => column[i]),
    row: Int32Array.from(kept, (i) => row[i]),
    points: new Uint32Array(kept.length).fill(1),
  };
}

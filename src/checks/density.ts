import { fileAt } from '../delivery/delivery.js';
import { connectedComponents } from '../geometry/components.js';
import { percentileOfSorted } from '../geometry/statistics.js';
import type { CountedReturns, DensityGrid } from '../measure/density-grid.js';
import { cellsRequest, type JudgedCells, judgedCells } from './cells/judged-cells.js';
import { scaledDensity } from './cells/scaled-density.js';
import type { Check, JudgeContext, Location, Requirement, Verdict } from './contract/check.js';
import { atLeast, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, inZone, percent, plural, undetermined } from './contract/wording.js';

export interface DensityOptions {
  cell: number;
  min: number;
  share: number;
  count: CountedReturns;
}

const WORDS: Record<CountedReturns, string> = {
  all: 'point density (all returns)',
  first: 'pulse density (first returns)',
  last: 'pulse density (last returns)',
  only: 'density of single returns',
};
const WORST = 10;

const needs = ({ cell, count }: Requirement<DensityOptions>) => ({ grid: cellsRequest(cell, count) });

/** The figures, and the limits they are held against. */
const metrics = {
  share: metric('share of cells', 'share', atLeast('share')),
  // Of each cell: no single figure is held against it.
  min: metric('density of a cell', 'points/m2', atLeast('min')),
  cells: metric('cells', 'count'),
  mean: metric('mean', 'points/m2'),
  median: metric('median', 'points/m2'),
  p05: metric('5th percentile', 'points/m2'),
} satisfies Metrics;

export const density = {
  id: 'density',
  title: 'Point density',
  why: 'Edges, kerbs and rails are drawn from single points: where the cloud is sparse they are guessed, and fine detail is lost.',
  sources: [
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'glossary: nominal pulse density',
      note: 'first returns of the pulses',
    },
    { standard: 'common practice', note: 'counting per world-anchored square cell and judging the share of cells' },
  ],
  schema: {
    properties: {
      cell: {
        type: 'number',
        exclusiveMinimum: 0.01,
        maximum: 1000,
        default: 1,
        description: 'Edge of a square cell, metres.',
      },
      min: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Minimum density of a cell, points (or pulses) per square metre.',
      },
      share: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 1,
        default: 1,
        description: 'Share of complete cells that must reach `min`, 0 to 1.',
      },
      count: {
        enum: ['all', 'first', 'last', 'only'],
        default: 'all',
        description:
          'Returns counted: `all` gives point density; `first` or `last` give pulse density; `only` counts single returns.',
      },
    },
    required: ['min'],
  },
  metrics,
  quality: 'DQ_CompletenessOmission',
  needs,

  explain: ({ cell, min, share, count, zone }) =>
    `At least ${percent(share)} of the complete ${cell} m cells ${inZone(zone)} must have a ${WORDS[count]} of ${min} per square metre or more; withheld points do not count and cells cut by the boundary are not judged.`,

  judge({ grid }, requirement, context) {
    const { cell, min, share, count, zone } = requirement;
    if (context.delivery.sample !== null) return quickLook(grid, requirement, context);
    const cells = judgedCells(grid, zone, context);
    const total = cells.points.length;
    const limits = limitsOf(metrics, requirement);
    if (total === 0) {
      return undetermined(`No complete ${cell} m cell lies ${inZone(zone)}, so density could not be judged.`, {
        limits,
      });
    }
    const values = cells.points.map((n) => n / (cell * cell));
    const sorted = values.slice().sort();
    let reached = 0;
    let sum = 0;
    for (const v of values) {
      sum += v;
      if (v >= min) reached++;
    }
    const found = reached / total;
    const pass = found >= share;
    const median = percentileOfSorted(sorted, 50);
    return {
      state: pass ? 'pass' : 'fail',
      summary: `${percent(found)} of ${plural(total, 'cell')} of ${cell} m ${inZone(zone)} reach a ${WORDS[count]} of ${min} per m² (required: ${percent(share)}); the median is ${median.toFixed(1)}.`,
      measured: {
        cells: figure(total, 'count'),
        mean: figure(sum / total, 'points/m2'),
        median: figure(median, 'points/m2'),
        p05: figure(percentileOfSorted(sorted, 5), 'points/m2'),
        share: figure(found, 'share'),
      },
      limits,
      evidence: [
        { kind: 'locations', title: 'Sparsest areas', items: thinAreas(cells, values, cell, min, context) },
        {
          kind: 'histogram',
          title: `Cells by ${WORDS[count]}`,
          unit: 'points/m2',
          ...histogram(sorted),
          limit: min,
          sense: 'at-least',
        },
        {
          kind: 'grid',
          title: WORDS[count],
          unit: 'points/m2',
          cell,
          cells: { column: cells.column, row: cells.row, value: values },
          limit: min,
          sense: 'at-least',
          signed: false,
        },
        {
          kind: 'placed-values',
          use: 'sections',
          title: `share of cells with a ${WORDS[count]} of ${min} per m2 or more`,
          statistic: 'mean',
          unit: 'share',
          limit: share,
          sense: 'at-least',
          cell,
          sets: [{ name: 'cells', places: cells, value: Uint8Array.from(values, (v) => (v >= min ? 1 : 0)) }],
        },
        {
          kind: 'placed-values',
          use: 'charts',
          title: `mean ${WORDS[count]}`,
          statistic: 'mean',
          unit: 'points/m2',
          limit: min,
          sense: 'at-least',
          cell,
          sets: [{ name: 'mean', places: cells, value: values }],
        },
      ],
      advice: pass
        ? []
        : [
            'Drive the sparse sections again, more slowly or with an additional pass, or agree a lower density there with the client.',
          ],
    };
  },
} satisfies Check<DensityOptions, typeof needs>;

/** A sample shows the mean density, not that of single cells: whether points of a cell were read is chance. */
function quickLook(grid: DensityGrid, requirement: Requirement<DensityOptions>, context: JudgeContext): Verdict {
  const { min, count, zone } = requirement;
  const limits = limitsOf(metrics, requirement);
  const found = scaledDensity(grid, zone, context);
  const name = `mean ${WORDS[count]} ${inZone(zone)}`;
  if (typeof found === 'string') return undetermined(`the ${name} could not be worked out: ${found}.`, { limits });
  const spread = found.spread === null ? '' : `, standard deviation about ${percent(found.spread)}`;
  return undetermined(
    `the ${name} is about ${found.mean.toFixed(1)} per m²${spread}, scaled from a sample of ${percent(found.share)} (${plural(found.cells, 'cell')} of ${found.cell} m); which cells reach ${min} per m² only all points can show.`,
    { limits, measured: { cells: figure(found.cells, 'count'), mean: figure(found.mean, 'points/m2') } },
  );
}

/** Connected areas of cells below the limit, the largest first. */
function thinAreas(
  cells: JudgedCells,
  values: Float64Array,
  cell: number,
  min: number,
  context: JudgeContext,
): Location[] {
  const thin = [...values.keys()].filter((i) => values[i] < min);
  const groups = connectedComponents(
    Int32Array.from(thin, (i) => cells.column[i]),
    Int32Array.from(thin, (i) => cells.row[i]),
    8,
  );
  const sums = Array.from({ length: groups.count }, () => ({ x: 0, y: 0, value: 0, n: 0 }));
  thin.forEach((i, k) => {
    const s = sums[groups.labels[k]];
    s.x += cells.column[i];
    s.y += cells.row[i];
    s.value += values[i];
    s.n++;
  });
  return sums
    .sort((a, b) => b.n - a.n || a.value / a.n - b.value / b.n || a.y / a.n - b.y / b.n || a.x / a.n - b.x / b.n)
    .slice(0, WORST)
    .map(({ x, y, value, n }) => {
      const place = { x: (x / n + 0.5) * cell, y: (y / n + 0.5) * cell };
      const file = fileAt(context.delivery, place.x, place.y);
      return {
        ...place,
        ...(file ? { file } : {}),
        value: value / n,
        unit: 'points/m2' as const,
        note: `mean density of ${plural(n, 'sparse cell')}, ${(n * cell * cell).toFixed(1)} m²`,
        crossSectionRadius: Math.min(3 * cell, 10),
      };
    });
}

/** Twenty equal classes up to the 99th percentile; the last takes the rest. */
function histogram(sorted: Float64Array): { edges: number[]; counts: number[] } {
  const top = Math.max(percentileOfSorted(sorted, 99), 1);
  const edges = Array.from({ length: 21 }, (_, k) => (k * top) / 20);
  const counts = new Array<number>(20).fill(0);
  for (const v of sorted) counts[Math.min(19, Math.floor((v / top) * 20))]++;
  return { edges, counts };
}

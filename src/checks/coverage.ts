import { fileAt } from '../delivery/delivery.js';
import { connectedComponents } from '../geometry/components.js';
import { fact } from '../measure/fact-types.js';
import type { PassCells } from '../measure/pass-cells.js';
import { type JudgedCells, judgedCells } from './cells/judged-cells.js';
import type { Check, JudgeContext, Location, Requirement } from './contract/check.js';
import { atLeast, limitsOf, type Metrics, metric } from './contract/metric.js';
import { area, figure, inZone, percent, plural, undetermined } from './contract/wording.js';

export interface CoverageOptions {
  minShare: number;
  cell: number;
  passes: number;
}

const LISTED = 10;

const needs = ({ cell }: Requirement<CoverageOptions>) => ({ cells: fact('pass-cells', { cell }) });

/** The figures, and the limits they are held against. */
const metrics = {
  share: metric('share of cells covered', 'share', atLeast('minShare')),
  cells: metric('cells', 'count'),
  missingArea: metric('missing area', 'm2'),
} satisfies Metrics;

export const coverage = {
  id: 'coverage',
  title: 'Coverage of the agreed area',
  why: 'What was never driven past cannot be delivered; where one pass was lost, the check of one pass by another is lost too.',
  sources: [
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'multiple coverage',
      note: 'the whole area must have the designed number of swaths',
    },
    { standard: 'common practice', note: 'share of the cells of a zone that hold a point' },
  ],
  schema: {
    properties: {
      minShare: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 1,
        default: 1,
        description: 'Share of the complete cells that must be covered, 0 to 1.',
      },
      cell: {
        type: 'number',
        exclusiveMinimum: 0.01,
        maximum: 1000,
        default: 1,
        description: 'Edge of a square cell, metres.',
      },
      passes: {
        type: 'integer',
        minimum: 1,
        default: 1,
        description: 'Passes that must have seen a cell for it to count as covered.',
      },
    },
    required: [],
  },
  allPoints: true,
  metrics,
  quality: 'DQ_CompletenessOmission',
  needs,

  explain: ({ minShare, cell, passes, zone }) =>
    `At least ${percent(minShare)} of the complete ${cell} m cells ${inZone(zone)} must hold points of ${plural(passes, 'pass', 'passes')} or more.`,

  judge(facts, requirement, context) {
    const { minShare, cell, passes, zone } = requirement;
    const cells = judgedCells(coveredCells(facts.cells, passes), zone, context);
    const limits = limitsOf(metrics, requirement);
    const total = cells.points.length;
    if (total === 0)
      return undetermined(`No complete ${cell} m cell lies ${inZone(zone)}, so coverage could not be judged.`, {
        limits,
      });
    const bare = [...cells.points.keys()].filter((i) => cells.points[i] === 0);
    const share = 1 - bare.length / total;
    const missing = bare.length * cell * cell;
    const pass = share >= minShare;
    return {
      state: pass ? 'pass' : 'fail',
      summary: `${percent(share)} of ${plural(total, 'cell')} of ${cell} m ${inZone(zone)} ${passes === 1 ? 'hold a point' : `were seen by ${passes} passes or more`} (required: ${percent(minShare)}); ${area(missing)} ${missing === cell * cell ? 'is' : 'are'} missing.`,
      measured: { cells: figure(total, 'count'), share: figure(share, 'share'), missingArea: figure(missing, 'm2') },
      limits,
      evidence: [
        { kind: 'locations', title: 'Largest areas not covered', items: bareAreas(cells, bare, cell, context) },
        {
          kind: 'placed-values',
          title: 'share of cells covered',
          statistic: 'mean',
          unit: 'share',
          limit: minShare,
          sense: 'at-least',
          cell,
          sets: [{ name: 'covered', places: cells, value: cells.points }],
        },
      ],
      advice: pass ? [] : ['Drive the missing sections again, or agree with the client to remove them from the zone.'],
    };
  },
} satisfies Check<CoverageOptions, typeof needs>;

/** Cells with 1 where enough passes have seen them and 0 where some, but too few, have. */
function coveredCells({ cell, column, row, set, sets }: PassCells, passes: number) {
  return {
    cell,
    count: 'all' as const,
    column,
    row,
    points: Uint32Array.from(set, (s) => (sets[s].length >= passes ? 1 : 0)),
  };
}

function bareAreas(cells: JudgedCells, bare: number[], cell: number, { delivery }: JudgeContext): Location[] {
  const column = Int32Array.from(bare, (i) => cells.column[i]);
  const row = Int32Array.from(bare, (i) => cells.row[i]);
  const groups = connectedComponents(column, row, 8);
  const sums = Array.from({ length: groups.count }, () => ({ x: 0, y: 0, n: 0 }));
  for (let k = 0; k < bare.length; k++) {
    const sum = sums[groups.labels[k]];
    sum.x += column[k];
    sum.y += row[k];
    sum.n++;
  }
  return sums
    .sort((a, b) => b.n - a.n || a.y / a.n - b.y / b.n || a.x / a.n - b.x / b.n)
    .slice(0, LISTED)
    .map(({ x, y, n }) => {
      const place = { x: (x / n + 0.5) * cell, y: (y / n + 0.5) * cell };
      const file = fileAt(delivery, place.x, place.y);
      return {
        ...place,
        ...(file ? { file } : {}),
        value: n * cell * cell,
        unit: 'm2' as const,
        note: plural(n, 'cell'),
      };
    });
}

import { fileAt } from '../delivery/delivery.js';
import { connectedComponents } from '../geometry/components.js';
import type { CountedReturns, DensityGrid } from '../measure/density-grid.js';
import { cellsAsk, type JudgedCells, judgedCells } from './cells/judged-cells.js';
import type { Check, GridEvidence, JudgeContext, Location, Requirement } from './contract/check.js';
import { area, figure, inZone, plural, undetermined } from './contract/wording.js';

export interface VoidsOptions {
  maxArea: number;
  cell: number;
  count: CountedReturns;
}

const LISTED = 25;
/** Metres around a gap worth a closer look, at most. */
const LARGEST_SECTION_RADIUS = 25;

export const voids = {
  id: 'voids',
  title: { pass: 'No gap in coverage exceeds the limit', fail: 'Coverage has gaps larger than allowed' },
  why: 'Nothing can be measured or drawn where no point fell, and interpolation across a gap hides what is there.',
  sources: [
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'data voids',
      note: 'area of (4 x nominal pulse spacing) squared or more without a first return; water and dark surfaces excepted',
    },
  ],
  schema: {
    properties: {
      maxArea: { type: 'number', minimum: 0, description: 'Largest gap that is accepted, square metres.' },
      cell: {
        type: 'number',
        exclusiveMinimum: 0.01,
        maximum: 100,
        default: 0.5,
        description: 'Edge of a square cell, metres.',
      },
      count: {
        enum: ['all', 'first', 'last', 'only'],
        default: 'all',
        description: 'Returns that fill a cell: all, first, last or only (single) returns.',
      },
    },
    required: ['maxArea'],
  },
  metrics: ['count', 'largestArea', 'totalArea'],
  limitSense: { largestArea: 'at-most' },
  quality: 'DQ_CompletenessOmission',
  needs: ({ cell, count }: Requirement<VoidsOptions>) => [cellsAsk(cell, count)],

  explain: ({ maxArea, cell, zone }) =>
    `No connected area of empty ${cell} m cells ${zone === undefined ? 'enclosed by the data' : inZone(zone)} may be larger than ${maxArea} m2.`,

  judge([measured], { maxArea, cell, zone }, context) {
    const cells = judgedCells(measured as DensityGrid, zone, context);
    const limits = { largestArea: figure(maxArea, 'm2') };
    if (cells.points.length === 0) {
      return undetermined(`No complete ${cell} m cell lies ${inZone(zone)}, so gaps could not be looked for.`, {
        limits,
      });
    }
    const found = findGaps(cells, cell, context);
    const { gaps } = found;
    const large = gaps.filter((gap) => gap.area > maxArea);
    const total = large.reduce((sum, gap) => sum + gap.area, 0);
    const largest = gaps[0]?.area ?? 0;
    return {
      state: large.length === 0 ? 'pass' : 'fail',
      summary:
        large.length === 0
          ? `The largest gap ${inZone(zone)} is ${area(largest)} (accepted: ${area(maxArea)}).`
          : `${plural(large.length, 'gap')} ${inZone(zone)} ${large.length === 1 ? 'is' : 'are'} larger than ${area(maxArea)}; the largest is ${area(largest)}.`,
      measured: {
        count: figure(large.length, 'count'),
        largestArea: figure(largest, 'm2'),
        totalArea: figure(total, 'm2'),
      },
      limits,
      evidence: [
        { kind: 'locations', title: 'Gaps', items: large.slice(0, LISTED).map((gap) => gap.location) },
        ...gapGrid(found, maxArea, cell),
      ],
      advice:
        large.length === 0
          ? []
          : [
              `Whole empty cells are counted, so a gap may be up to one ${cell} m cell wider on each side than stated.`,
              'Check whether a parked vehicle, water or wet asphalt explains the gap; otherwise capture the place again.',
            ],
    };
  },
} satisfies Check<VoidsOptions>;

interface Gap {
  area: number;
  location: Location;
}

interface Gaps {
  /** The largest first. */
  gaps: Gap[];
  /** Empty cells, and the area of the gap each belongs to. */
  column: Int32Array;
  row: Int32Array;
  area: Float64Array;
}

function findGaps(cells: JudgedCells, cell: number, context: JudgeContext): Gaps {
  const empty = [...cells.points.keys()].filter((i) => cells.points[i] === 0);
  const column = Int32Array.from(empty, (i) => cells.column[i]);
  const row = Int32Array.from(empty, (i) => cells.row[i]);
  const groups = connectedComponents(column, row, 8);
  const boxes = Array.from({ length: groups.count }, () => ({
    x: 0,
    y: 0,
    n: 0,
    x0: 2 ** 31,
    y0: 2 ** 31,
    x1: -(2 ** 31),
    y1: -(2 ** 31),
  }));
  empty.forEach((i, k) => {
    const box = boxes[groups.labels[k]];
    const [x, y] = [cells.column[i], cells.row[i]];
    box.x += x;
    box.y += y;
    box.n++;
    box.x0 = Math.min(box.x0, x);
    box.x1 = Math.max(box.x1, x + 1);
    box.y0 = Math.min(box.y0, y);
    box.y1 = Math.max(box.y1, y + 1);
  });
  const area = Float64Array.from(empty, (_, k) => boxes[groups.labels[k]].n * cell * cell);
  const gaps = boxes
    .sort((a, b) => b.n - a.n || a.y0 - b.y0 || a.x0 - b.x0)
    .map((box) => {
      const place = { x: (box.x / box.n + 0.5) * cell, y: (box.y / box.n + 0.5) * cell };
      const file = fileAt(context.delivery, place.x, place.y);
      const size = box.n * cell * cell;
      const note = `${((box.x1 - box.x0) * cell).toFixed(1)} m by ${((box.y1 - box.y0) * cell).toFixed(1)} m without a point`;
      const half = Math.hypot((box.x1 - box.x0) * cell, (box.y1 - box.y0) * cell) / 2;
      const crossSectionRadius = Math.min(half + 1, LARGEST_SECTION_RADIUS);
      const location: Location = {
        ...place,
        ...(file ? { file } : {}),
        value: size,
        unit: 'm2',
        note,
        crossSectionRadius,
      };
      return { area: size, location };
    });
  return { gaps, column, row, area };
}

/** The cells of the gaps above the limit, each with the area of its gap. */
function gapGrid({ column, row, area }: Gaps, maxArea: number, cell: number): GridEvidence[] {
  const large = [...area.keys()].filter((k) => area[k] > maxArea);
  if (large.length === 0) return [];
  return [
    {
      kind: 'grid',
      title: 'Gaps above the limit',
      unit: 'm2',
      cell,
      cells: {
        column: Int32Array.from(large, (k) => column[k]),
        row: Int32Array.from(large, (k) => row[k]),
        value: Float64Array.from(large, (k) => area[k]),
      },
      limit: maxArea,
      sense: 'at-most',
      signed: false,
    },
  ];
}

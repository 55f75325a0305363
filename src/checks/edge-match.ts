import { type Border, findBorders } from '../delivery/borders.js';
import { passLabel } from '../delivery/delivery.js';
import type { EdgeStep } from '../measure/edge-steps.js';
import { fact } from '../measure/fact-types.js';
import { maskArea } from './cells/mask-area.js';
import type { Check, Evidence, JudgeContext, Location, Requirement, State } from './contract/check.js';
import { atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, length, plural, signedLength, undetermined } from './contract/wording.js';

export interface EdgeMatchOptions {
  maxStep?: number;
  maxGap?: number;
  cell: number;
  depth: number;
  minPoints: number;
  minCells: number;
}

const needs = ({ cell, depth, minPoints, zone }: Requirement<EdgeMatchOptions>, context: JudgeContext) => ({
  steps: fact('edge-steps', {
    borders: findBorders(context.delivery.files, depth, cell),
    depth,
    cell,
    minPoints,
    area: maskArea(context, zone),
  }),
});

/** The figures, and the limits they are held against. */
const metrics = {
  step: metric('largest step', 'm', atMost('maxStep')),
  gap: metric('widest gap', 'm', atMost('maxGap')),
  borders: metric('borders', 'count'),
  cells: metric('cells', 'count'),
} satisfies Metrics;

export const edgeMatch = {
  id: 'edge-match',
  title: { pass: 'Passes run on across tile borders', fail: 'A pass breaks at a tile border' },
  why: 'One pass cut into tiles must fit together again: a step or a slit at a border comes from tiles made from different processing runs, or clipped wrongly.',
  sources: [
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'tiled delivery',
      note: 'edges of tiles match, without gaps',
    },
    { standard: 'common practice', note: 'planes of least squares on both sides, continued to the border' },
  ],
  schema: {
    properties: {
      maxStep: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest height step of a pass at a border (median along it), metres.',
      },
      maxGap: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Widest slit without points of a pass at a border (median along it), metres.',
      },
      cell: {
        type: 'number',
        minimum: 0.1,
        maximum: 20,
        default: 1,
        description: 'Length of the cells along a border, metres.',
      },
      depth: {
        type: 'number',
        minimum: 0.1,
        maximum: 20,
        default: 1,
        description: 'Width of the strip looked at on either side, metres; slits up to twice as wide are found.',
      },
      minPoints: {
        type: 'integer',
        minimum: 4,
        default: 20,
        description: 'Points of the pass that each side of a cell must hold for a plane.',
      },
      minCells: {
        type: 'integer',
        minimum: 1,
        default: 5,
        description: 'Cells along a border that a pass needs there for a verdict.',
      },
    },
    required: [],
    anyOf: [{ required: ['maxStep'] }, { required: ['maxGap'] }],
  },
  metrics,
  quality: 'DQ_RelativeInternalPositionalAccuracy',
  canGuard: true,

  needs,

  explain: ({ maxStep, maxGap, depth, zone }) =>
    `Where one pass crosses the border of two files${zone ? ` in zone ${zone}` : ''} (${depth} m on either side), ${[
      maxStep !== undefined ? `the surface must not step by more than ${length(maxStep)}` : '',
      maxGap !== undefined ? `no slit wider than ${length(maxGap)} may be without points` : '',
    ]
      .filter((part) => part !== '')
      .join(', and ')}.`,

  judge({ steps: all }, requirement, context) {
    const { delivery } = context;
    const limits = limitsOf(metrics, requirement);
    const borders = findBorders(delivery.files, requirement.depth, requirement.cell);
    if (borders.length === 0) {
      const unread = delivery.files.some((file) => file.header === null);
      return {
        state: unread ? 'undetermined' : 'not-applicable',
        summary: `No two files of the delivery adjoin${unread ? ' as far as they could be read' : ''}.`,
        measured: { borders: figure(0, 'count') },
        limits,
        evidence: [],
        advice: [],
      };
    }
    const judged = all.map((edge) => judgeEdge(edge, borders, requirement, context)).filter((j) => j !== null);
    if (judged.length === 0) {
      return undetermined(
        `${plural(borders.length, 'border')} between files, but no pass has enough points on both sides of any (${plural(requirement.minCells, 'cell')} of ${requirement.cell} m needed).`,
        { limits, measured: { borders: figure(borders.length, 'count') } },
      );
    }
    const failing = judged.filter((j) => j.state === 'fail');
    const unsure = judged.filter((j) => j.state === 'undetermined');
    const state: State = failing.length > 0 ? 'fail' : unsure.length > 0 ? 'undetermined' : 'pass';
    const [worst] = [...(failing.length > 0 ? failing : unsure.length > 0 ? unsure : judged)].sort(
      (a, b) => b.excess - a.excess,
    );
    return {
      state,
      summary: `${worst.text}${failing.length > 1 ? `; ${failing.length} of ${plural(judged.length, 'crossing')} exceed a limit` : ''}.`,
      measured: {
        borders: figure(new Set(judged.map((j) => j.edge.border)).size, 'count'),
        cells: figure(
          judged.reduce((sum, j) => sum + j.edge.gapCells, 0),
          'count',
        ),
        step: figure(largest(judged.map((j) => j.edge.step)), 'm'),
        gap: figure(largest(judged.map((j) => j.edge.gap)), 'm'),
      },
      limits,
      evidence: [
        { kind: 'locations', title: 'Where it breaks most', items: placesOf(worst, requirement) },
        crossingTable(judged),
      ],
      advice:
        state === 'fail'
          ? [
              'Cut all tiles from one and the same processing run, with the same borders; look whether the named files carry different dates or software.',
            ]
          : [],
    };
  },
} satisfies Check<EdgeMatchOptions, typeof needs>;

interface Judged {
  edge: EdgeStep;
  pass: string;
  files: [string, string];
  state: State;
  excess: number;
  text: string;
}

/** Two standard deviations: the usual half width of a 95 % interval. */
const COVERAGE = 2;

/** Null where the pass has too little on both sides. */
function judgeEdge(
  edge: EdgeStep,
  borders: readonly Border[],
  r: Requirement<EdgeMatchOptions>,
  { delivery }: JudgeContext,
): Judged | null {
  if (edge.gapCells < r.minCells) return null;
  const border = borders[edge.border];
  const nameOf = (index: number) => delivery.files.find((file) => file.index === index)?.name ?? `file ${index + 1}`;
  const files: [string, string] = [nameOf(border.low), nameOf(border.high)];
  const pass = passLabel(delivery, edge.pass);
  const parts: string[] = [];
  let state: State = 'pass';
  let excess = 0;
  if (r.maxStep !== undefined) {
    if (edge.step === null || edge.cells < r.minCells) {
      state = 'undetermined';
      parts.push(`only ${plural(edge.cells, 'cell')} with a level surface on both sides`);
    } else {
      const guard = r.decision === 'guarded' ? COVERAGE * (edge.stepStd ?? 0) : 0;
      const size = Math.abs(edge.step);
      excess = size / r.maxStep;
      parts.push(`step of ${signedLength(edge.step)} (limit ${length(r.maxStep)})`);
      if (size - guard > r.maxStep) state = 'fail';
      else if (size + guard > r.maxStep) state = 'undetermined';
    }
  }
  if (r.maxGap !== undefined && edge.gap !== null) {
    excess = Math.max(excess, edge.gap / r.maxGap);
    parts.push(`slit of ${length(edge.gap)} (limit ${length(r.maxGap)})`);
    if (edge.gap > r.maxGap) state = 'fail';
  }
  return { edge, pass, files, state, excess, text: `${pass} from ${files[0]} to ${files[1]}: ${parts.join(', ')}` };
}

function largest(values: readonly (number | null)[]): number | null {
  let found: number | null = null;
  for (const v of values) if (v !== null && (found === null || Math.abs(v) > Math.abs(found))) found = v;
  return found;
}

function placesOf({ edge, pass, files }: Judged, { maxStep }: EdgeMatchOptions): Location[] {
  return edge.places.map(({ x, y, z, step, gap }) => ({
    x,
    y,
    z,
    file: files[1],
    pass,
    value: maxStep !== undefined && step !== null ? step : gap,
    unit: 'm',
    note:
      maxStep !== undefined && step !== null
        ? `height of ${files[1]} over ${files[0]} at the border, slit of ${length(gap)}`
        : 'width without points across the border',
    crossSectionRadius: 2,
  }));
}

function crossingTable(judged: readonly Judged[]): Evidence {
  return {
    kind: 'table',
    title: 'Passes across tile borders',
    columns: [
      { key: 'pass', title: 'pass' },
      { key: 'low', title: 'file to the west or south' },
      { key: 'high', title: 'file beyond' },
      { key: 'cells', title: 'cells with a level surface', unit: 'count' },
      { key: 'step', title: 'step', unit: 'm' },
      { key: 'stepStd', title: 'its standard deviation', unit: 'm' },
      { key: 'gapCells', title: 'cells with points on both sides', unit: 'count' },
      { key: 'gap', title: 'slit', unit: 'm' },
    ],
    rows: judged.map(({ edge, pass, files }) => [
      pass,
      files[0],
      files[1],
      edge.cells,
      edge.step,
      edge.stepStd,
      edge.gapCells,
      edge.gap,
    ]),
  };
}

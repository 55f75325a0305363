import { type Border, findBorders } from '../delivery/borders.js';
import { passLabel } from '../delivery/delivery.js';
import { farthestFromZero } from '../geometry/ranking.js';
import type { EdgeStep } from '../measure/edge-steps.js';
import { fact } from '../measure/fact-types.js';
import { maskArea } from './cells/mask-area.js';
import type { Check, JudgeContext, Requirement, State } from './contract/check.js';
import { COVERAGE } from './contract/coverage-factor.js';
import { atLeast, atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, length, percent, plural, signedLength, undetermined } from './contract/wording.js';
import { crossingTable, horizontalWords, type JudgedCrossing, placesOf, shiftOf } from './tiles/edge-crossings.js';

export interface EdgeMatchOptions {
  maxStep?: number;
  maxGap?: number;
  cell: number;
  depth: number;
  minPoints: number;
  minCells: number;
  minJudged: number;
}

const needs = ({ cell, depth, minPoints, minCells, zone }: Requirement<EdgeMatchOptions>, context: JudgeContext) => ({
  steps: fact('edge-steps', {
    borders: bordersOf(context, { depth, cell }),
    depth,
    cell,
    minPoints,
    row: minCells,
    area: maskArea(context, zone),
  }),
});

/** The figures, and the limits they are held against. */
const metrics = {
  step: metric('largest step', 'm', atMost('maxStep')),
  shift: metric('largest shift of walls at the border', 'm'),
  shiftCrossings: metric('crossings where walls show a shift', 'count'),
  gap: metric('widest gap', 'm', atMost('maxGap')),
  partGap: metric('widest gap in a part of a border', 'm'),
  judged: metric('share of the border length judged', 'share', atLeast('minJudged')),
  borders: metric('borders', 'count'),
  cells: metric('cells', 'count'),
} satisfies Metrics;

/** Files so far apart (metres) are looked at for a slit between them. */
const WIDEST_SLIT = 10;

function bordersOf({ delivery }: JudgeContext, { depth, cell }: Pick<EdgeMatchOptions, 'depth' | 'cell'>): Border[] {
  return findBorders(delivery.files, depth, cell, WIDEST_SLIT);
}

export const edgeMatch = {
  id: 'edge-match',
  title: 'Match of neighbouring tiles at their edges',
  why: 'One pass cut into tiles must fit together again: a step or a slit at a border comes from tiles made from different processing runs, or clipped wrongly.',
  sources: [
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'tiled delivery',
      note: 'edges of tiles match, without gaps',
    },
    {
      standard: 'common practice',
      note: 'planes of least squares on both sides, continued to the border; lines of walls in plan likewise',
    },
  ],
  schema: {
    properties: {
      maxStep: {
        type: 'number',
        exclusiveMinimum: 0,
        description:
          'Largest step of a pass at a border, metres: of height (median along it), and at right angles to vertical surfaces where they cross it (median over them). A shift along those surfaces, such as along a road, cannot be seen at a border.',
      },
      maxGap: {
        type: 'number',
        exclusiveMinimum: 0,
        description: `Widest slit without points of a pass at a border (median along it), metres; slits up to ${WIDEST_SLIT} m are looked for. A wider slit in a part of a border, \`minCells\` cells long, leaves the requirement undetermined: nothing shows whether points were cut off there or hidden from the scanner.`,
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
        description:
          'Width of the strip looked at on either side, metres; where files end farther apart, it begins where they end.',
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
      minJudged: {
        type: 'number',
        minimum: 0,
        maximum: 1,
        default: 0.2,
        description:
          'Share of the length of the borders, where a pass has points on both sides, that must be judged for a pass.',
      },
    },
    required: [],
    anyOf: [{ required: ['maxStep'] }, { required: ['maxGap'] }],
  },
  metrics,
  quality: 'DQ_RelativeInternalPositionalAccuracy',
  canGuard: true,

  needs,

  explain: ({ maxStep, maxGap, depth, zone, minJudged }) =>
    `Where one pass crosses the border of two files${zone ? ` in zone ${zone}` : ''} (${depth} m on either side), ${[
      maxStep !== undefined
        ? `neither the surface nor walls across the border may step by more than ${length(maxStep)} (walls show a shift at right angles to them, not along them)`
        : '',
      maxGap !== undefined ? `no slit wider than ${length(maxGap)} may be without points` : '',
    ]
      .filter((part) => part !== '')
      .join(', and ')}; at least ${percent(minJudged)} of the length that a pass has on both sides must be judged.`,

  judge({ steps: all }, requirement, context) {
    const { delivery } = context;
    const limits = limitsOf(metrics, requirement);
    const borders = bordersOf(context, requirement);
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
    const edges = all.filter((edge) => isBorder(edge, borders[edge.border], requirement));
    const judged = edges.map((edge) => judgeEdge(edge, borders, requirement, context)).filter((j) => j !== null);
    if (judged.length === 0) {
      return undetermined(
        `${plural(borders.length, 'border')} between files, but no pass has enough points on both sides of any (${plural(requirement.minCells, 'cell')} of ${requirement.cell} m needed).`,
        { limits, measured: { borders: figure(borders.length, 'count') } },
      );
    }
    const failing = judged.filter((j) => j.state === 'fail');
    const unsure = judged.filter((j) => j.state === 'undetermined');
    const part = judgedShare(edges, judged, requirement);
    const enough = part >= requirement.minJudged;
    const state: State = failing.length > 0 ? 'fail' : unsure.length > 0 || !enough ? 'undetermined' : 'pass';
    const words = `${percent(part)} of the length of the borders was judged${enough ? '' : ` (${percent(requirement.minJudged)} needed): elsewhere no level and even surface of a pass lies on both sides`}`;
    const [worst] = [...(failing.length > 0 ? failing : unsure.length > 0 ? unsure : judged)].sort(
      (a, b) => b.excess - a.excess,
    );
    return {
      state,
      summary: `${worst.text}${failing.length > 1 ? `; ${failing.length} of ${plural(judged.length, 'crossing')} exceed a limit` : ''}; ${words}${requirement.maxStep === undefined ? '' : `; ${horizontalWords(judged)}`}.`,
      measured: {
        borders: figure(new Set(judged.map((j) => j.edge.border)).size, 'count'),
        cells: figure(
          judged.reduce((sum, j) => sum + j.edge.gapCells, 0),
          'count',
        ),
        judged: figure(part, 'share'),
        step: figure(farthestFromZero(judged.map((j) => j.edge.step)), 'm'),
        shift: figure(farthestFromZero(judged.map((j) => shiftOf(j.edge))), 'm'),
        shiftCrossings: figure(judged.filter((j) => shiftOf(j.edge) !== null).length, 'count'),
        gap: figure(farthestFromZero(judged.map((j) => j.edge.gap)), 'm'),
        partGap: figure(farthestFromZero(judged.map((j) => j.edge.partGap)), 'm'),
      },
      limits,
      evidence: [
        { kind: 'locations', title: 'Where it breaks most', items: placesOf(worst, requirement.maxStep !== undefined) },
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

/**
 * Whether the two files adjoin there: where they end apart, only when a slit is limited and both end along a straight line, as
 * points end that were cut off.
 */
function isBorder(edge: EdgeStep, { gap }: Border, { maxGap, minCells }: EdgeMatchOptions): boolean {
  return gap === 0 || (maxGap !== undefined && edge.straight && edge.gapCells >= minCells);
}

/** Share of the cells along all borders, with points of a pass on both sides, in which a pass was judged. */
function judgedShare(
  edges: readonly EdgeStep[],
  judged: readonly JudgedCrossing[],
  { maxStep }: EdgeMatchOptions,
): number {
  const all = new Set(edges.flatMap(({ border, shared }) => shared.map((cell) => `${border} ${cell}`)));
  const seen = new Set(
    judged.flatMap(({ edge, complete }) => {
      const cells = !complete ? [] : maxStep === undefined ? edge.shared : edge.compared;
      return cells.map((cell) => `${edge.border} ${cell}`);
    }),
  );
  return all.size === 0 ? 0 : seen.size / all.size;
}

/** Null where the pass has too little on both sides. */
function judgeEdge(
  edge: EdgeStep,
  borders: readonly Border[],
  r: Requirement<EdgeMatchOptions>,
  { delivery }: JudgeContext,
): JudgedCrossing | null {
  if (edge.gapCells < r.minCells) return null;
  const border = borders[edge.border];
  const nameOf = (index: number) => delivery.files.find((file) => file.index === index)?.name ?? `file ${index + 1}`;
  const files: [string, string] = [nameOf(border.low), nameOf(border.high)];
  const pass = passLabel(delivery, edge.pass);
  const parts: string[] = [];
  let state: State = 'pass';
  let excess = 0;
  let complete = true;
  if (r.maxStep !== undefined) {
    if (edge.step === null || edge.cells < r.minCells) {
      complete = false;
      parts.push(`only ${plural(edge.cells, 'cell')} with a level and even surface on both sides`);
    } else {
      const guard = r.decision === 'guarded' ? COVERAGE * (edge.stepStd ?? 0) : 0;
      const size = Math.abs(edge.step);
      excess = size / r.maxStep;
      parts.push(`step of ${signedLength(edge.step)} (limit ${length(r.maxStep)})`);
      if (size - guard > r.maxStep) state = 'fail';
      else if (size + guard > r.maxStep) state = 'undetermined';
    }
  }
  const shift = shiftOf(edge);
  if (r.maxStep !== undefined && shift !== null) {
    // A few walls can be uneven: a shift counts only where it exceeds the limit by two standard deviations.
    const over = Math.abs(shift) - COVERAGE * (edge.shiftStd ?? 0) > r.maxStep;
    if (over) {
      state = 'fail';
      excess = Math.max(excess, Math.abs(shift) / r.maxStep);
      parts.push(`walls shifted by ${signedLength(shift)} (limit ${length(r.maxStep)})`);
    }
  }
  if (r.maxGap !== undefined && edge.gap === null) {
    complete = false;
    parts.push('too few points to show a slit');
  } else if (r.maxGap !== undefined && edge.gap !== null) {
    excess = Math.max(excess, edge.gap / r.maxGap);
    parts.push(`slit of ${length(edge.gap)} (limit ${length(r.maxGap)})`);
    if (edge.gap > r.maxGap) state = 'fail';
    else if (edge.partGap !== null && edge.partGap > r.maxGap) {
      if (state === 'pass') state = 'undetermined';
      excess = Math.max(excess, edge.partGap / r.maxGap);
      parts.push(
        `but one of ${length(edge.partGap)} or more over ${length(r.minCells * r.cell)} of the border, where points are missing or were hidden from the scanner`,
      );
    }
  }
  return {
    edge,
    pass,
    files,
    complete,
    state,
    excess,
    text: `${pass} from ${files[0]} to ${files[1]}: ${parts.join(', ')}`,
  };
}

import { stationingOf } from '../delivery/route.js';
import { stationLabel } from '../geometry/stationing.js';
import { fact } from '../measure/fact-types.js';
import type { Check, Evidence, JudgeContext, Requirement, State } from './contract/check.js';
import { atLeast, atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, inZone, length, percent, plural, undetermined } from './contract/wording.js';
import { leftOutStretches, type StationStretchOption } from './route/left-out.js';
import { type Piece, piecesOf } from './route/pieces.js';
import { type Stretch, stretchesOf } from './route/stretches.js';

export interface RouteCoverageOptions {
  minShare: number;
  maxGap?: number;
  width: number;
  step: number;
  cell: number;
  passes: boolean;
  lanesPerPass?: number;
  direction: boolean;
  trackWidth: number;
  leaveOut?: StationStretchOption[];
}

const LISTED = 25;

const needs = (requirement: Requirement<RouteCoverageOptions>, { delivery }: JudgeContext) => {
  // Stations that do not exist or occur twice are refused before anything is measured.
  leftOutStretches(requirement.leaveOut, delivery.route);
  return { cells: fact('pass-cells', { cell: requirement.cell }) };
};

/** The figures, and the limits they are held against. */
const metrics = {
  share: metric('share of the route with points', 'share', atLeast('minShare')),
  longestGap: metric('longest stretch without points', 'm', atMost('maxGap')),
  passShare: metric('share of the route with its planned passes', 'share'),
  directionShare: metric('share of the route driven in its direction', 'share'),
  drivenShare: metric('share of the route that a drive passed', 'share'),
  planned: metric('planned length', 'm'),
  missing: metric('length without points', 'm'),
} satisfies Metrics;

export const routeCoverage = {
  id: 'route-coverage',
  title: 'Coverage of the planned route',
  why: 'A stretch that was planned and not driven is missing in everything that is made of the cloud, and is noticed last where nobody compares the plan with the drive.',
  sources: [
    {
      standard: 'Korea, rules for high-definition road maps, notice 2023-4338',
      clause: 'article 14 (transcript)',
      note: 'no gap on the planned route; directions driven apart; more than 3 lanes: at least one pass for each 3 lanes. Passes as lanes divided by 3, rounded up, are our reading of it (option lanesPerPass)',
    },
    {
      standard: 'common practice',
      note: 'a stretch counts as covered where points are near its line; width and step are agreed',
    },
  ],
  schema: {
    properties: {
      minShare: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 1,
        default: 1,
        description:
          'Share of the planned length that must have points; and its planned passes and its direction where they are asked for; 0 to 1.',
      },
      maxGap: { type: 'number', minimum: 0, description: 'Longest stretch without points that is accepted, metres.' },
      width: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 50,
        default: 3,
        description: 'Distance from the line within which points must be, metres.',
      },
      step: {
        type: 'number',
        minimum: 1,
        maximum: 1000,
        default: 5,
        description: 'Length of the pieces in which the route is judged, metres.',
      },
      cell: {
        type: 'number',
        exclusiveMinimum: 0.01,
        maximum: 10,
        default: 1,
        description: 'Edge of the cells in which points are counted, metres.',
      },
      passes: {
        type: 'boolean',
        default: false,
        description:
          'Whether every line needs its planned passes: as the route states them, else from its lanes and lanesPerPass. Counted from the trajectory; without one, from the passes with points, which see over neighbouring lanes.',
      },
      lanesPerPass: {
        type: 'integer',
        minimum: 1,
        description:
          'Lanes that one pass serves: planned passes are the lanes divided by it, rounded up; 3 in one published rule.',
      },
      direction: {
        type: 'boolean',
        default: false,
        description: 'Whether every line must be driven in the direction that the route states; needs a trajectory.',
      },
      trackWidth: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 100,
        default: 10,
        description: 'Distance from the line within which a drive passes it, metres.',
      },
      leaveOut: {
        type: 'array',
        items: {
          type: 'object',
          properties: { line: { type: 'string' }, from: { type: 'string' }, to: { type: 'string' } },
          required: ['line', 'from', 'to'],
          additionalProperties: false,
        },
        description:
          'Stretches that were not to be driven: line, and stations from and to in the notation of the run. A station that does not exist or exists twice on the line is refused.',
      },
    },
    required: [],
  },
  metrics,
  quality: 'DQ_CompletenessOmission',
  sideFiles: () => ['trajectory'],
  needs,

  explain: (r) =>
    `${percent(r.minShare)} of the planned route ${inZone(r.zone)} must have points within ${r.width} m of its line, in pieces of ${r.step} m${r.maxGap === undefined ? '' : `, with no stretch longer than ${length(r.maxGap)} without points`}${r.passes ? ', and the planned passes' : ''}${r.direction ? ', and be driven in the planned direction' : ''}.`,

  judge({ cells }, requirement, context) {
    const { route, trajectory } = context.delivery;
    const limits = limitsOf(metrics, requirement);
    if (!route)
      return undetermined('No route was handed in (--route), so coverage of it could not be judged.', { limits });
    if (requirement.direction && !trajectory)
      return undetermined('Directions are asked for, but no trajectory was handed in (--trajectory).', { limits });
    const pieces = piecesOf(route, cells, requirement, context);
    if (pieces.length === 0)
      return undetermined(`No part of the route is ${inZone(requirement.zone)}, so its coverage could not be judged.`, {
        limits,
      });
    if (requirement.passes && pieces.some(({ planned }) => planned === null)) {
      const advice = [
        'Give the planned passes of every line in the route, or its lanes and lanesPerPass in the requirement.',
      ];
      return undetermined('The planned passes of a line of the route are not stated.', { limits, advice });
    }
    const all = sum(pieces);
    const missing = stretchesOf(
      pieces.filter(({ points }) => !points),
      route,
    );
    const short = requirement.passes ? pieces.filter(({ passes, planned }) => passes < planned!) : [];
    const wrong = requirement.direction ? pieces.filter(({ inDirection }) => inDirection === false) : [];
    const shareOf = (bad: readonly Piece[]) => 1 - sum(bad) / all;
    const share = shareOf(pieces.filter(({ points }) => !points));
    const longest = missing.reduce((most, { metres }) => Math.max(most, metres), 0);
    const [passShare, directionShare] = [shareOf(short), shareOf(wrong)];
    const { minShare, maxGap } = requirement;
    const pass =
      share >= minShare && longest <= (maxGap ?? Infinity) && passShare >= minShare && directionShare >= minShare;
    const state: State = pass ? 'pass' : 'fail';
    const shortStretches = stretchesOf(short, route);
    const wrongStretches = stretchesOf(wrong, route);
    const extra = [
      requirement.passes ? `${percent(passShare)} have the planned passes` : '',
      requirement.direction ? `${percent(directionShare)} were driven in the planned direction` : '',
    ].filter((text) => text !== '');
    return {
      state,
      summary: `${percent(share)} of ${length(all)} of the route ${inZone(requirement.zone)} have points within ${requirement.width} m (required: ${percent(minShare)}); ${missing.length === 0 ? 'no stretch is without' : `${plural(missing.length, 'stretch', 'stretches')} without, the longest ${length(longest)}`}${extra.length > 0 ? `; ${extra.join('; ')}` : ''}.`,
      measured: {
        share: figure(share, 'share'),
        longestGap: figure(longest, 'm'),
        ...(requirement.passes ? { passShare: figure(passShare, 'share') } : {}),
        ...(requirement.direction ? { directionShare: figure(directionShare, 'share') } : {}),
        ...(trajectory ? { drivenShare: figure(shareOf(pieces.filter(({ driven }) => !driven)), 'share') } : {}),
        planned: figure(all, 'm'),
        missing: figure(sum(pieces.filter(({ points }) => !points)), 'm'),
      },
      limits,
      evidence: [
        placesOf(missing, shortStretches, wrongStretches),
        stretchTable(
          [
            ...named(missing, 'no points'),
            ...named(shortStretches, 'too few passes'),
            ...named(wrongStretches, 'not driven in the planned direction'),
          ],
          context,
        ),
        lineTable(pieces, context),
        {
          kind: 'placed-values',
          title: 'share of the route with points',
          statistic: 'mean',
          unit: 'share',
          limit: minShare,
          sense: 'at-least',
          cell: requirement.step,
          sets: [
            {
              name: 'points',
              places: { x: pieces.map(({ x }) => x), y: pieces.map(({ y }) => y) },
              value: pieces.map(({ points }) => (points ? 1 : 0)),
            },
          ],
        },
      ],
      advice: pass
        ? []
        : ['Drive the missing stretches again, or agree with the client which of them are left out (leaveOut).'],
    };
  },
} satisfies Check<RouteCoverageOptions, typeof needs>;

function sum(pieces: readonly Piece[]): number {
  return pieces.reduce((total, { metres }) => total + metres, 0);
}

function named(stretches: readonly Stretch[], what: string) {
  return stretches.map((stretch) => ({ stretch, what }));
}

function placesOf(missing: readonly Stretch[], short: readonly Stretch[], wrong: readonly Stretch[]): Evidence {
  const all = [
    ...named(missing, 'without points'),
    ...named(short, 'with too few passes'),
    ...named(wrong, 'not driven in the planned direction'),
  ].sort((a, b) => b.stretch.metres - a.stretch.metres);
  return {
    kind: 'locations',
    title: 'Stretches of the route that are not as planned',
    items: all.slice(0, LISTED).map(({ stretch: { x, y, metres, line }, what }) => ({
      x,
      y,
      value: metres,
      unit: 'm',
      note: `middle of a stretch of ${line} ${what}`,
    })),
  };
}

function stretchTable(rows: readonly { stretch: Stretch; what: string }[], { delivery }: JudgeContext): Evidence {
  const route = delivery.route!;
  const label = (name: string, distance: number) =>
    stationLabel(stationingOf(route.lines.find((line) => line.name === name)!), distance, route);
  return {
    kind: 'table',
    title: 'Stretches that are not as planned',
    columns: [
      { key: 'line', title: 'line' },
      { key: 'from', title: 'from station' },
      { key: 'to', title: 'to station' },
      { key: 'length', title: 'length', unit: 'm' },
      { key: 'what', title: 'what' },
    ],
    rows: rows.map(({ stretch: { line, from, to, metres }, what }) => [
      line,
      label(line, from),
      label(line, to),
      metres,
      what,
    ]),
  };
}

function lineTable(pieces: readonly Piece[], { delivery }: JudgeContext): Evidence {
  const rows = delivery.route!.lines.flatMap(({ name }, i) => {
    const own = pieces.filter(({ line }) => line === i);
    if (own.length === 0) return [];
    const passes = own.map((piece) => piece.passes);
    const covered = own.filter(({ points }) => points);
    return [
      [
        name,
        sum(own),
        sum(covered) / sum(own),
        own[0].planned,
        passes.reduce((a, b) => Math.min(a, b)),
        passes.reduce((a, b) => Math.max(a, b)),
      ],
    ];
  });
  return {
    kind: 'table',
    title: 'Lines of the route',
    columns: [
      { key: 'line', title: 'line' },
      { key: 'length', title: 'planned length', unit: 'm' },
      { key: 'share', title: 'share with points', unit: 'share' },
      { key: 'planned', title: 'planned passes', unit: 'count' },
      { key: 'least', title: 'fewest passes', unit: 'count' },
      { key: 'most', title: 'most passes', unit: 'count' },
    ],
    rows,
  };
}

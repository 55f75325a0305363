import type { SurveyPoint } from '../delivery/survey-points.js';
import type { Check, Evidence, JudgeContext, Location, Requirement } from './contract/check.js';
import { atLeast, atMost, limitOfJudge, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, length, percent, plural, undetermined } from './contract/wording.js';
import { outagesWithoutPoint } from './route/outage-points.js';
import { gapsOf, type PlacedPoint, pointsOnRoute, type SpacingGap } from './route/points-on-route.js';

export interface ControlSpacingOptions {
  maxSpacing?: number;
  maxControlSpacing?: number;
  maxCheckSpacing?: number;
  minPerKm?: number;
  minCheckShare?: number;
  minCheckDistance?: number;
  hardSurface: boolean;
  outageSeconds?: number;
  width: number;
}

const LISTED = 25;
const METRES_PER_KM = 1000;

/** The figures, and the limits they are held against. */
const metrics = {
  spacing: metric('largest distance along the route without a point', 'm', atMost('maxSpacing')),
  controlSpacing: metric('largest distance along the route without a control point', 'm', atMost('maxControlSpacing')),
  checkSpacing: metric('largest distance along the route without a check point', 'm', atMost('maxCheckSpacing')),
  perKm: metric('points per kilometre of route', 'ratio', atLeast('minPerKm')),
  checkShare: metric('share of check points', 'share', atLeast('minCheckShare')),
  checkDistance: metric('smallest distance from a check point to a control point', 'm', atLeast('minCheckDistance')),
  notHard: metric('points that are not on a hard surface', 'count', limitOfJudge('at-most')),
  outagesWithout: metric('outages without a point', 'count', limitOfJudge('at-most')),
  control: metric('control points at the route', 'count'),
  check: metric('check points at the route', 'count'),
  planned: metric('planned length', 'm'),
} satisfies Metrics;

export const controlSpacing = {
  id: 'control-spacing',
  title: 'Spacing of control and check points along the route',
  why: 'Where no point is near, neither the adjustment nor its test reaches: an error of the trajectory on a long stretch without points is in the cloud and shows nowhere.',
  sources: [
    {
      standard: 'Korea, rules for high-definition road maps, notice 2023-4338',
      clause: 'article 18 (transcript)',
      note: 'one control point for each kilometre of planned route on average, one more where reception is poor; one in five is a check point, spread evenly and at a distance from the others',
    },
    {
      standard: 'Japan, public survey operation rules 2025',
      clause: 'article 515 (transcript)',
      note: 'check points roughly equally spaced, adjustment points counted too; on firm ground with little plants',
    },
    {
      standard: 'ISPRS Annals II-3/W5, 105 (2015)',
      note: 'review of state rules (description by others): transformation targets every 450 m, validation every 150 m for high accuracy',
    },
  ],
  schema: {
    properties: {
      maxSpacing: metres('Longest stretch of a line without any point, its ends counted, metres.'),
      maxControlSpacing: metres('Longest stretch of a line without a control point, its ends counted, metres.'),
      maxCheckSpacing: metres('Longest stretch of a line without a check point, its ends counted, metres.'),
      minPerKm: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Control and check points for each kilometre of the route, on average.',
      },
      minCheckShare: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 1,
        description: 'Share of the points at the route that must be check points, 0 to 1.',
      },
      minCheckDistance: metres('Distance that every check point must keep from the nearest control point, metres.'),
      hardSurface: {
        type: 'boolean',
        default: false,
        description: 'Whether every point must be on a hard surface, as the survey states it.',
      },
      outageSeconds: {
        type: 'number',
        exclusiveMinimum: 0,
        description:
          'Loss of fixed position from which on a point is needed within the stretch driven meanwhile, seconds; needs a trajectory that states its solution.',
      },
      width: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 200,
        default: 30,
        description: 'Distance from the line, or from the track of an outage, within which a point counts, metres.',
      },
    },
    required: [],
    anyOf: [
      ...[
        'maxSpacing',
        'maxControlSpacing',
        'maxCheckSpacing',
        'minPerKm',
        'minCheckShare',
        'minCheckDistance',
        'outageSeconds',
      ].map((name) => ({
        required: [name],
      })),
    ],
  },
  wholeFiles: true,
  metrics,
  quality: 'DQ_UsabilityElement',
  sideFiles: ({ outageSeconds }) => (outageSeconds === undefined ? ['points'] : ['points', 'trajectory']),
  needs: () => ({}),

  explain(r: Requirement<ControlSpacingOptions>) {
    const parts = [
      r.maxSpacing !== undefined && `no stretch longer than ${length(r.maxSpacing)} may be without a point`,
      r.maxControlSpacing !== undefined && `none longer than ${length(r.maxControlSpacing)} without a control point`,
      r.maxCheckSpacing !== undefined && `none longer than ${length(r.maxCheckSpacing)} without a check point`,
      r.minPerKm !== undefined && `there must be ${r.minPerKm} points or more for each kilometre`,
      r.minCheckShare !== undefined && `${percent(r.minCheckShare)} or more of them must be check points`,
      r.minCheckDistance !== undefined &&
        `every check point must be ${length(r.minCheckDistance)} or more from control points`,
      r.hardSurface && 'every point must be on a hard surface',
      r.outageSeconds !== undefined && `every loss of fixed position of ${r.outageSeconds} s or more must have a point`,
    ].filter((part) => typeof part === 'string');
    return `Of the survey points within ${r.width} m of the planned route: ${parts.join('; ')}.`;
  },

  judge(_facts, requirement, { delivery }: JudgeContext) {
    const { route, surveyPoints, trajectory } = delivery;
    const limits = {
      ...limitsOf(metrics, requirement),
      ...(requirement.hardSurface ? { notHard: figure(0, 'count') } : {}),
      ...(requirement.outageSeconds !== undefined ? { outagesWithout: figure(0, 'count') } : {}),
    };
    if (!route || !surveyPoints) {
      const missing = route ? 'No survey points were handed in (--points)' : 'No route was handed in (--route)';
      return undetermined(`${missing}, so spacing along the route could not be judged.`, { limits });
    }
    const drives = trajectory?.drives.filter(({ solution }) => solution !== null) ?? [];
    if (requirement.outageSeconds !== undefined && drives.length === 0)
      return undetermined('Outages are to be judged, but no trajectory that states its solution was handed in.', {
        limits,
      });
    const points = pointsOnRoute(route, surveyPoints, requirement.width);
    const control = points.filter(({ point }) => point.role === 'control');
    const check = points.filter(({ point }) => point.role === 'check');
    const gaps = { all: gapsOf(route, points), control: gapsOf(route, control), check: gapsOf(route, check) };
    const planned = route.lines.reduce((sum, { distance }) => sum + distance[distance.length - 1], 0);
    const notHard = points.filter(({ point }) => point.surface !== 'hard');
    const outages =
      requirement.outageSeconds === undefined
        ? null
        : outagesWithoutPoint(drives, surveyPoints, requirement.outageSeconds, requirement.width);
    const near = check.map(({ point }) => ({ point, metres: distanceToNearest(point, surveyPoints) }));
    const measured = {
      spacing: figure(gaps.all[0].metres, 'm'),
      controlSpacing: figure(gaps.control[0].metres, 'm'),
      checkSpacing: figure(gaps.check[0].metres, 'm'),
      perKm: figure((points.length * METRES_PER_KM) / planned, 'ratio'),
      checkShare: figure(points.length === 0 ? null : check.length / points.length, 'share'),
      checkDistance: figure(least(near.map(({ metres }) => metres)), 'm'),
      notHard: figure(notHard.length, 'count'),
      ...(outages ? { outagesWithout: figure(outages.length, 'count') } : {}),
      control: figure(control.length, 'count'),
      check: figure(check.length, 'count'),
      planned: figure(planned, 'm'),
    };
    const broken = brokenBy(measured, limits);
    return {
      state: broken.length > 0 ? 'fail' : 'pass',
      summary: `${plural(control.length, 'control point')} and ${plural(check.length, 'check point')} within ${requirement.width} m of ${length(planned)} of route, ${measured.perKm.value!.toFixed(2)} per km; the longest stretch without a point is ${length(gaps.all[0].metres)}${broken.length > 0 ? `; outside its limit: ${broken.join(', ')}` : ''}.`,
      measured,
      limits,
      evidence: [
        placesOf(gaps, near, notHard, outages ?? [], requirement),
        pointTable(points),
        spacingSeries(
          route.lines.map(({ name }) => name),
          gaps.all,
          requirement.maxSpacing,
        ),
      ],
      advice:
        broken.length === 0
          ? []
          : ['Survey further points on the stretches listed, or agree a wider spacing with the client.'],
    };
  },
} satisfies Check<ControlSpacingOptions>;

function metres(description: string) {
  return { type: 'number', exclusiveMinimum: 0, description };
}

/** Labels of the figures that do not keep their limit; a share that is not known does not keep it. */
function brokenBy(
  measured: Record<string, { value: number | null }>,
  limits: Record<string, { value: number | null }>,
): string[] {
  return Object.entries(limits).flatMap(([name, { value: limit }]) => {
    const { label, limit: declared } = (metrics as Metrics)[name];
    const value = measured[name].value;
    // Without a control point no check point is too near to one.
    if (value === null) return name === 'checkDistance' ? [] : [label];
    const good = declared!.sense === 'at-most' ? value <= limit! : value >= limit!;
    return good ? [] : [label];
  });
}

function least(values: readonly (number | null)[]): number | null {
  let smallest: number | null = null;
  for (const value of values) if (value !== null && (smallest === null || value < smallest)) smallest = value;
  return smallest;
}

/** Horizontal distance to the nearest control point; null where there is none. */
function distanceToNearest(point: SurveyPoint, all: readonly SurveyPoint[]): number | null {
  const controls = all.filter(({ role }) => role === 'control');
  return least(controls.map(({ x, y }) => Math.hypot(x - point.x, y - point.y)));
}

function placesOf(
  gaps: Record<'all' | 'control' | 'check', readonly SpacingGap[]>,
  near: readonly { point: SurveyPoint; metres: number | null }[],
  notHard: readonly PlacedPoint[],
  outages: readonly { x: number; y: number; seconds: number; name: string }[],
  r: Requirement<ControlSpacingOptions>,
): Evidence {
  const long = (list: readonly SpacingGap[], limit: number | undefined, what: string): Location[] =>
    list
      .filter(({ metres: size }) => limit !== undefined && size > limit)
      .map(({ x, y, metres: size, name }) => ({
        x,
        y,
        value: size,
        unit: 'm',
        note: `middle of a stretch of ${name} without ${what}`,
      }));
  const items: Location[] = [
    ...long(gaps.all, r.maxSpacing, 'a point'),
    ...long(gaps.control, r.maxControlSpacing, 'a control point'),
    ...long(gaps.check, r.maxCheckSpacing, 'a check point'),
    ...near
      .filter(({ metres: size }) => size !== null && r.minCheckDistance !== undefined && size < r.minCheckDistance)
      .map(
        ({ point: { id, x, y, z }, metres: value }): Location => ({
          x,
          y,
          z,
          value,
          unit: 'm',
          note: `check point ${id} is too near to a control point`,
        }),
      ),
    ...(r.hardSurface ? notHard : []).map(
      ({ point: { id, x, y, z } }): Location => ({
        x,
        y,
        z,
        value: null,
        unit: 'count',
        note: `point ${id} is not on a hard surface`,
      }),
    ),
    ...outages.map(
      ({ x, y, seconds, name }): Location => ({
        x,
        y,
        value: seconds,
        unit: 's',
        note: `loss of fixed position in ${name} without a point`,
      }),
    ),
  ];
  return { kind: 'locations', title: 'Where points are missing', items: items.slice(0, LISTED) };
}

function pointTable(points: readonly PlacedPoint[]): Evidence {
  return {
    kind: 'table',
    title: 'Survey points along the route',
    columns: [
      { key: 'id', title: 'point' },
      { key: 'role', title: 'role' },
      { key: 'surface', title: 'surface' },
      { key: 'x', title: 'x', unit: 'm' },
      { key: 'y', title: 'y', unit: 'm' },
    ],
    rows: points.map(({ point: { id, role, surface, x, y } }) => [id, role, surface, x, y]),
  };
}

/** Length of each stretch without a point, at its middle. */
function spacingSeries(names: readonly string[], gaps: readonly SpacingGap[], limit: number | undefined): Evidence {
  return {
    kind: 'series',
    title: 'Stretches without a point',
    unit: 'm',
    along: { title: 'distance from the begin of the line', unit: 'm' },
    lines: names.map((name, line) => {
      const own = gaps.filter((gap) => gap.line === line).sort((a, b) => a.from - b.from);
      return { name, x: own.map(({ from, to }) => (from + to) / 2), y: own.map(({ metres: size }) => size) };
    }),
    ...(limit === undefined ? {} : { limit }),
    sense: 'at-most',
  };
}

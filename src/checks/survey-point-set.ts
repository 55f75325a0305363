import { fileAt } from '../delivery/delivery.js';
import type { SurveyPoint } from '../delivery/survey-points.js';
import { zoneByName } from '../delivery/zones.js';
import { type PointSpread, spreadOf } from '../geometry/point-spread.js';
import { polygonIndexOf } from '../geometry/polygon-index.js';
import { surveyArea } from './accuracy/survey-area.js';
import {
  type DoublePoint,
  findDoubles,
  type SurveyAccuracy,
  surveyAccuracy,
  USUAL_SEPARATION,
} from './accuracy/survey-quality.js';
import type { Check, Evidence, Figure, JudgeContext, Location, Requirement } from './contract/check.js';
import { atLeast, limitOfJudge, limitsOf, type Metrics, metric, NONE_ALLOWED } from './contract/metric.js';
import { figure, inZone, length, percent, plural, undetermined } from './contract/wording.js';

export interface SurveyPointSetOptions {
  minPoints: number;
  minQuadrantShare?: number;
  minSpacingShare?: number;
  minSpread?: number;
  layout: 'area' | 'corridor';
  surface: 'hard' | 'vegetated' | 'any';
  separation: number;
  verticalClass?: number;
  horizontalClass?: number;
  surveyFactor: number;
}

/** The figures, and the limits they are held against. */
const metrics = {
  n: metric('check points', 'count', atLeast('minPoints')),
  doubles: metric('points given twice', 'count', NONE_ALLOWED),
  perQuadrantMin: metric('least share in a quarter', 'share', limitOfJudge('at-least')),
  minSpacing: metric('least spacing', 'm', limitOfJudge('at-least')),
  spread: metric('spread', 'share', limitOfJudge('at-least')),
  surveyV: metric('survey accuracy of height', 'm', limitOfJudge('at-most')),
  surveyH: metric('survey accuracy horizontal', 'm', limitOfJudge('at-most')),
  control: metric('control points', 'count'),
} satisfies Metrics;

export const surveyPointSet = {
  id: 'survey-point-set',
  title: 'Number, distribution and accuracy of the check points',
  why: 'An accuracy figure is worth what its check points are worth: enough of them, all over the area, independent of the control, and surveyed better than what they test.',
  sources: [
    {
      standard: 'ASPRS Positional Accuracy Standards, Edition 2',
      clause: '7.12, 7.13',
      note: 'independent, at least twice as accurate, 30 points',
    },
    {
      standard: 'FGDC-STD-007.3-1998 (NSSDA)',
      clause: '3.2.2, 3-C.3',
      note: '20 points, 20 percent in each quadrant, spaced by 10 percent of the diagonal',
    },
    { standard: 'common practice', note: 'quarters along the corridor where two quadrants are empty by nature' },
  ],
  schema: {
    properties: {
      minPoints: { type: 'integer', minimum: 1, default: 30, description: 'Check points that must be there.' },
      minQuadrantShare: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 0.25,
        description: 'Least share of the check points in each quarter of the area, 0 to 0.25.',
      },
      minSpacingShare: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 1,
        description: 'Least distance of two check points, as a share of the diagonal of the area.',
      },
      minSpread: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 1,
        description: 'Least extent of the check points, as a share of that of the area.',
      },
      layout: {
        enum: ['area', 'corridor'],
        default: 'area',
        description: 'Quarters are the quadrants of the `area`, or four stretches along a `corridor`.',
      },
      surface: {
        enum: ['hard', 'vegetated', 'any'],
        default: 'any',
        description: 'Check points counted: on hard ground, in vegetation, or all.',
      },
      separation: {
        type: 'number',
        minimum: 0,
        default: USUAL_SEPARATION,
        description: 'Two survey points this near to each other in plan are the same one given twice, metres.',
      },
      verticalClass: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Vertical RMSE the points are to test, metres: they must be surveyed better by `surveyFactor`.',
      },
      horizontalClass: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Horizontal RMSE of both axes the points are to test, metres.',
      },
      surveyFactor: {
        type: 'number',
        minimum: 1,
        default: 2,
        description: 'How many times better than the class the points must be surveyed.',
      },
    },
    required: [],
  },
  metrics,
  quality: 'DQ_UsabilityElement',
  sideFiles: () => ['points'],
  needs: () => ({}),

  explain: (r: Requirement<SurveyPointSetOptions>) =>
    `There must be ${r.minPoints} or more check points${r.surface === 'any' ? '' : ` on ${r.surface} surface`}${r.zone ? ` in zone ${r.zone}` : ''}, none of them also a control point or given twice${
      r.minQuadrantShare !== undefined
        ? `, at least ${percent(r.minQuadrantShare)} of them in each quarter of the ${r.layout}`
        : ''
    }${r.minSpacingShare !== undefined ? `, no two nearer than ${percent(r.minSpacingShare)} of its diagonal` : ''}${
      r.minSpread !== undefined ? `, spread over ${percent(r.minSpread)} of its extent` : ''
    }${r.verticalClass !== undefined ? `, surveyed to ${length(r.verticalClass / r.surveyFactor)} in height` : ''}${
      r.horizontalClass !== undefined ? `, surveyed to ${length(r.horizontalClass / r.surveyFactor)} in plan` : ''
    }.`,

  judge(_facts, r, context) {
    const { surveyPoints } = context.delivery;
    const limits = limitsOf(metrics, r);
    if (!surveyPoints) return undetermined('No survey points were handed in (--points).', { limits });
    const inside = insideOf(r.zone, context);
    const points = surveyPoints.filter(inside);
    const checks = points.filter((p) => p.role === 'check' && (r.surface === 'any' || p.surface === r.surface));
    const doubles = findDoubles(checks, points, r.separation);
    const area = surveyArea(r.zone, context);
    const spread =
      area &&
      spreadOf(
        checks.map((p) => p.x),
        checks.map((p) => p.y),
        area,
        r.layout,
      );
    const survey = surveyAccuracy(checks);
    const measured: Record<string, Figure> = {
      n: figure(checks.length, 'count'),
      control: figure(points.filter((p) => p.role === 'control').length, 'count'),
      perQuadrantMin: figure(spread ? spread.leastShare : null, 'share'),
      minSpacing: figure(spread?.spacing ?? null, 'm'),
      spread: figure(spread ? spread.extentShare : null, 'share'),
      doubles: figure(doubles.length, 'count'),
      surveyV: figure(survey.vertical, 'm'),
      surveyH: figure(survey.horizontal, 'm'),
    };
    const failures: string[] = [];
    const unknown: string[] = [];
    if (checks.length < r.minPoints) failures.push(`${plural(checks.length, 'check point')}, ${r.minPoints} required`);
    if (doubles.length > 0) failures.push(`${plural(doubles.length, 'point')} given twice (${doubles[0].words})`);
    judgeSpread(spread, r, limits, failures, unknown);
    judgeSurvey(survey, r, limits, failures, unknown);
    const state = failures.length > 0 ? 'fail' : unknown.length > 0 ? 'undetermined' : 'pass';
    const found = `${plural(checks.length, 'check point')} ${inZone(r.zone)}`;
    return {
      state,
      summary:
        state === 'pass'
          ? `${found}${spread ? `, at least ${percent(spread.leastShare)} in each quarter` : ''}, independent of the control.`
          : `${found}: ${[...failures, ...unknown].join('; ')}.`,
      measured,
      limits,
      evidence: [...doublePlaces(doubles, context), ...quarterTable(spread, r.layout)],
      advice: adviceFor(failures.length, doubles, survey, r),
    };
  },
} satisfies Check<SurveyPointSetOptions>;

function insideOf(zoneName: string | undefined, { delivery }: JudgeContext): (point: SurveyPoint) => boolean {
  if (zoneName === undefined) return () => true;
  const index = polygonIndexOf(zoneByName(delivery, zoneName).polygons);
  return ({ x, y }) => index.holds(x, y);
}

function judgeSpread(
  spread: PointSpread | null,
  r: SurveyPointSetOptions,
  limits: Record<string, Figure>,
  failures: string[],
  unknown: string[],
): void {
  const asked = r.minQuadrantShare ?? r.minSpacingShare ?? r.minSpread;
  if (asked === undefined) return;
  if (spread === null) {
    unknown.push('the extent of the delivery is not known, so the spread cannot be determined');
    return;
  }
  if (r.minQuadrantShare !== undefined) {
    limits.perQuadrantMin = figure(r.minQuadrantShare, 'share');
    if (spread.leastShare < r.minQuadrantShare)
      failures.push(`${percent(spread.leastShare)} of them in one quarter, ${percent(r.minQuadrantShare)} required`);
  }
  if (r.minSpacingShare !== undefined) {
    const least = r.minSpacingShare * spread.diagonal;
    limits.minSpacing = figure(least, 'm');
    if (spread.spacing === null) unknown.push('one point has no spacing');
    else if (spread.spacing < least)
      failures.push(`two of them only ${length(spread.spacing)} apart, ${length(least)} required`);
  }
  if (r.minSpread !== undefined) {
    limits.spread = figure(r.minSpread, 'share');
    if (spread.extentShare < r.minSpread)
      failures.push(`spread over ${percent(spread.extentShare)} of the extent, ${percent(r.minSpread)} required`);
  }
}

function judgeSurvey(
  survey: SurveyAccuracy,
  r: SurveyPointSetOptions,
  limits: Record<string, Figure>,
  failures: string[],
  unknown: string[],
): void {
  const hold = (name: 'surveyV' | 'surveyH', value: number | null, asked: number | undefined, what: string) => {
    if (asked === undefined) return;
    const most = asked / r.surveyFactor;
    limits[name] = figure(most, 'm');
    if (value === null) unknown.push(`the accuracy of the survey in ${what} is not stated for every point`);
    else if (value > most) failures.push(`surveyed to ${length(value)} in ${what}, ${length(most)} required`);
  };
  hold('surveyV', survey.vertical, r.verticalClass, 'height');
  hold('surveyH', survey.horizontal, r.horizontalClass, 'plan');
}

/** Places of points given twice that are listed; the number of all of them is a figure. */
const LISTED = 100;

function doublePlaces(doubles: readonly DoublePoint[], { delivery }: JudgeContext): Evidence[] {
  if (doubles.length === 0) return [];
  const items = doubles.slice(0, LISTED).map(({ point, distance, words }): Location => {
    const file = fileAt(delivery, point.x, point.y);
    return { x: point.x, y: point.y, z: point.z, ...(file ? { file } : {}), value: distance, unit: 'm', note: words };
  });
  return [{ kind: 'locations', title: 'Points given twice', items }];
}

function quarterTable(spread: PointSpread | null, layout: 'area' | 'corridor'): Evidence[] {
  if (!spread) return [];
  const names =
    layout === 'area'
      ? ['south-west', 'south-east', 'north-west', 'north-east']
      : ['first quarter', 'second quarter', 'third quarter', 'last quarter'];
  return [
    {
      kind: 'table',
      title: `Check points by ${layout === 'area' ? 'quadrant' : 'stretch of the corridor'}`,
      columns: [
        { key: 'quarter', title: 'quarter' },
        { key: 'points', title: 'check points', unit: 'count' },
        { key: 'share', title: 'share', unit: 'share' },
      ],
      rows: names.map((name, k) => [name, spread.quarters[k], spread.n > 0 ? spread.quarters[k] / spread.n : null]),
    },
  ];
}

function adviceFor(
  failures: number,
  doubles: readonly DoublePoint[],
  survey: SurveyAccuracy,
  r: SurveyPointSetOptions,
): string[] {
  const advice: string[] = [];
  if (doubles.some(({ other }) => other.role === 'control'))
    advice.push(
      'A point that served as control proves nothing: take it out of the check points and survey another one.',
    );
  if (
    (r.verticalClass !== undefined && survey.vertical === null) ||
    (r.horizontalClass !== undefined && survey.horizontal === null)
  )
    advice.push('State the standard deviations of the survey in the columns sigma_h and sigma_v.');
  if (failures > 0 && r.layout === 'area' && r.minQuadrantShare !== undefined)
    advice.push('A road or track that runs through two quadrants only is judged better with "layout": "corridor".');
  return advice;
}

import type { SurveyPoint } from '../delivery/survey-points.js';
import { NSSDA_VERTICAL } from '../geometry/accuracy.js';
import { fact } from '../measure/fact-types.js';
import type { HeightMethod } from '../measure/survey-heights.js';
import {
  certainReasons,
  decideRmse,
  intervalWords,
  noneAgrees,
  noneOf,
  rmseLimit,
  rmseWords,
} from './accuracy/decision.js';
import { describeHeights, type HeightFigures, heightsByPlace, heightViews } from './accuracy/height-figures.js';
import {
  drawnHeight,
  type HeightResidual,
  heightLine,
  heightPlace,
  heightResidual,
  largestHeights,
  markHeightBlunders,
  toldHeight,
} from './accuracy/height-residuals.js';
import {
  accuracyClass,
  at95,
  blunders,
  checkPoints,
  intervalSource,
  largest,
  normalErrors,
  rmseParts,
} from './accuracy/metrics.js';
import { type AccuracyOptions, accuracySchema, limitSentence, statedBy } from './accuracy/options.js';
import { statementFor } from './accuracy/statement.js';
import { listPlaces, SAMPLE_POINTS, surveySections } from './accuracy/survey-views.js';
import { likelyCauses } from './advice/index.js';
import { blunderFacts, placementFacts } from './advice/survey-facts.js';
import type { Check, Evidence, JudgeContext, Requirement, State } from './contract/check.js';
import { atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, length, plural, signedLength, undetermined } from './contract/wording.js';

export interface VerticalAccuracyOptions extends AccuracyOptions {
  maxP95?: number;
  maxMean?: number;
  minPoints: number;
  method: HeightMethod;
  radius: number;
  minCloudPoints?: number;
  surface: 'hard' | 'vegetated' | 'any';
  classes?: number[];
  blunderFactor: number;
  maxBlunders: number;
}

/** Cloud points kept around a survey point and pass; a plane through a thousand points is known to a fraction of a millimetre. */
const MOST_KEPT = 1024;
const LEAST_CLOUD_POINTS = { plane: 10, tin: 3, idw: 3 } as const;

const needs = (r: Requirement<VerticalAccuracyOptions>, { delivery }: JudgeContext) => {
  const around = {
    points: (delivery.surveyPoints ?? []).map(({ x, y, z }) => ({ x, y, z })),
    radius: r.radius,
    classes: r.classes ? [...r.classes].sort((a, b) => a - b) : null,
    most: MOST_KEPT,
  };
  const minPoints = r.minCloudPoints ?? LEAST_CLOUD_POINTS[r.method];
  return {
    heights: fact('survey-heights', { ...around, method: r.method, minPoints }),
    samples: fact('survey-samples', { ...around, keep: SAMPLE_POINTS }),
  };
};

/** The figures, and the limits they are held against. */
const metrics = {
  blunders,
  rmse: metric('RMSE', 'm', atMost('maxRmse')),
  at95,
  p95: metric('95th percentile', 'm', atMost('maxP95')),
  largest,
  mean: metric('mean', 'm', atMost('maxMean')),
  ...checkPoints,
  median: metric('median', 'm'),
  std: metric('standard deviation', 'm'),
  rmseLow: metric('RMSE, lower end of the 95 % confidence interval', 'm'),
  rmseHigh: metric('RMSE, upper end of the 95 % confidence interval', 'm'),
  normalErrors,
  nmad: metric('NMAD', 'm'),
  min: metric('smallest', 'm'),
  max: metric('largest', 'm'),
  class: accuracyClass,
  ...rmseParts,
  rmseAll: metric('RMSE, blunders included', 'm'),
} satisfies Metrics;

export const verticalAccuracy = {
  id: 'vertical-accuracy',
  title: 'Vertical accuracy at the check points',
  why: 'Independent check points are the only proof of absolute height; levels, drainage and clearances are taken from it.',
  sources: [
    {
      standard: 'ASPRS Positional Accuracy Standards, Edition 2',
      clause: '7.2, 7.4, 7.11',
      note: 'RMSE with divisor n; survey accuracy added in quadrature; errors above three times the class are examined',
    },
    { standard: 'FGDC-STD-007.3-1998 (NSSDA)', clause: '3-A.2', note: '95 % of normal errors lie within 1.9600 RMSE' },
    intervalSource,
  ],
  schema: {
    properties: {
      maxRmse: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest RMSE of height at the check points, metres.',
      },
      maxP95: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest 95th percentile of the differences, absolute values, metres: for points in vegetation.',
      },
      maxMean: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest mean height difference, either sign, metres.',
      },
      minPoints: { type: 'integer', minimum: 1, default: 30, description: 'Check points needed for a verdict.' },
      method: {
        enum: ['plane', 'tin', 'idw'],
        default: 'plane',
        description:
          'Height of the cloud: robust local `plane`, `tin` (linear in the triangle) or `idw` (inverse distance weights). Of surfaces 2 m or more above one another, as in a tunnel, that nearest to the surveyed height.',
      },
      radius: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 50,
        default: 0.5,
        description: 'Cloud points within this distance in plan are used, metres.',
      },
      minCloudPoints: {
        type: 'integer',
        minimum: 3,
        description: 'Cloud points needed at a check point; 10 for a plane, 3 otherwise.',
      },
      surface: {
        enum: ['hard', 'vegetated', 'any'],
        default: 'hard',
        description: 'Check points judged: on hard ground, in vegetation, or all.',
      },
      classes: {
        type: 'array',
        items: { type: 'integer', minimum: 0, maximum: 255 },
        minItems: 1,
        description: 'Only cloud points of these classes are used; otherwise every class but noise (7 and 18).',
      },
      blunderFactor: {
        type: 'number',
        exclusiveMinimum: 1,
        default: 3,
        description:
          'A difference beyond this many times `maxRmse` (or `maxAt95`, `maxP95` divided by 1.96), and as far from the median, is a blunder.',
      },
      maxBlunders: {
        type: 'integer',
        minimum: 0,
        default: 0,
        description: 'Blunders that are accepted; each is named in the report.',
      },
      ...accuracySchema('vertical'),
    },
    required: [],
    anyOf: [{ required: ['maxRmse'] }, { required: ['maxAt95'] }, { required: ['maxP95'] }],
  },
  metrics,
  quality: 'DQ_AbsoluteExternalPositionalAccuracy',
  sideFiles: () => ['points'],
  canGuard: true,

  needs,

  explain: (r) =>
    `At ${r.minPoints} or more ${r.surface === 'any' ? '' : `${r.surface}-surface `}check points${r.zone ? ` in zone ${r.zone}` : ''}, cloud minus survey (cloud height by ${r.method} within ${r.radius} m), ${limitSentence(
      [
        ['the RMSE of height', r.maxRmse],
        ['the accuracy at 95 % confidence (1.96 times the RMSE)', r.maxAt95],
        ['the 95th percentile of the differences', r.maxP95],
        ['a single difference', r.maxResidual],
        ['the mean difference', r.maxMean],
      ],
    )}; ${r.maxBlunders === 0 ? 'no blunder is' : `${plural(r.maxBlunders, 'blunder')} may be`} accepted. Control points are listed but never judged.${statedBy(r)}`,

  judge({ heights, samples }, requirement, context) {
    const survey = context.delivery.surveyPoints;
    const limits = limitsOf(metrics, requirement);
    if (!survey)
      return undetermined('No survey points were handed in (--points), so heights could not be tested.', { limits });
    const residuals = survey.map((point, i) => heightResidual(point, heights[i], requirement, context));
    const checks = residuals.filter((r) => r.judged);
    const target = classAimedAt(requirement) ?? requirement.maxP95! / NSSDA_VERTICAL;
    const tested = checks.filter((r) => r.dz !== null);
    const blunders = markHeightBlunders(tested, requirement.blunderFactor * target);
    const used = tested.filter((r) => !r.blunder);
    const surveyPoints = residuals.map((r) => heightLine(r, requirement.method, context));
    const missing = checks.filter((r) => r.dz === null);
    const places = (
      title: string,
      items: readonly HeightResidual[],
      note: (r: HeightResidual) => string,
    ): Evidence[] => {
      const listed = listPlaces(title, items, (r) => Math.abs(r.dz ?? 0));
      const shown = listed.items.map((r) => heightPlace(r, note(r), context));
      return items.length === 0 ? [] : [{ kind: 'locations', title: listed.title, items: shown }];
    };
    const evidence: Evidence[] = [
      ...places('Blunders', blunders, () => 'suspected blunder (gross error)'),
      { kind: 'locations', title: 'Largest differences', items: largestHeights(used, context) },
      ...places('Check points without a cloud height', missing, (r) => r.height.reason ?? 'no height'),
      ...surveySections(residuals.map(drawnHeight), samples, requirement.radius, context.delivery),
    ];
    const hard = (r: HeightResidual) => r.point.surface === 'hard';
    const stated = statementFor(
      'vertical',
      requirement,
      {
        tested: used.filter(hard),
        vegetated: residuals.filter((r) => r.vegetated && r.dz !== null),
        blunders: blunders.filter(hard),
        blundersAccepted: requirement.maxBlunders,
        untested: missing.length,
        target: classAimedAt(requirement),
      },
      context,
    );
    const base = { limits, evidence, surveyPoints, ...stated };
    const heightFacts = { limit: target, points: tested.map((r) => toldHeight(r, context)) };
    const certain = certainReasons(
      tested.map(({ point, dz }) => ({ id: point.id, size: Math.abs(dz!) })),
      blunders,
      requirement,
    );
    if (used.length === 0) {
      const counts = { checks: checks.length, tested: tested.length, blunders: blunders.length };
      const none = noneAgrees(counts, certain);
      if (none !== null) return { ...none, ...base, causes: likelyCauses('heights', heightFacts) };
      const causes = [...placementCauses(survey, tested.length, context), ...likelyCauses('heights', heightFacts)];
      const where = 'Check that the points file and the cloud have the same coordinate system, axis order and unit.';
      const words = {
        several: 'could be compared with the cloud',
        one: 'could not be compared with the cloud',
      };
      return undetermined(`${noneOf(checks.length, words)}.`, {
        ...base,
        measured: { n: figure(checks.length, 'count'), used: figure(0, 'count') },
        advice: causes.length > 0 ? [] : [where],
        causes,
      });
    }
    const figures = describeHeights(used, tested, checks.length, blunders.length, requirement);
    const { state, summary } = decide(figures, requirement, used.length, certain);
    return {
      state,
      summary,
      measured: figures.measured,
      ...base,
      evidence: [
        ...heightViews(residuals, figures, rmseLimitOf(requirement)),
        ...evidence,
        ...heightsByPlace(tested, rmseLimitOf(requirement)),
      ],
      advice: adviceFor(state, missing.length),
      causes: [
        ...likelyCauses('heights', heightFacts),
        ...likelyCauses('blunders', blunderFacts(blunders.map(sizeOf), used.map(sizeOf))),
      ],
    };
  },
} satisfies Check<VerticalAccuracyOptions, typeof needs>;

/** The RMSE aimed at; null where the requirement limits neither it nor the accuracy at 95 %. */
function classAimedAt({ maxRmse, maxAt95 }: VerticalAccuracyOptions): number | null {
  return maxRmse ?? (maxAt95 === undefined ? null : maxAt95 / NSSDA_VERTICAL);
}

/** The RMSE that the limits allow; null where none limits it. */
function rmseLimitOf(r: VerticalAccuracyOptions): number | null {
  const limit = rmseLimit(r, NSSDA_VERTICAL);
  return Number.isFinite(limit) ? limit : null;
}

function decide(
  f: HeightFigures,
  r: Requirement<VerticalAccuracyOptions>,
  used: number,
  certain: readonly string[],
): { state: State; summary: string } {
  const reasons: string[] = [];
  if (r.maxMean !== undefined && Math.abs(f.mean) > r.maxMean) reasons.push(`the mean exceeds ${length(r.maxMean)}`);
  const p95 = f.measured.p95.value!;
  if (r.maxP95 !== undefined && p95 > r.maxP95) reasons.push('the 95th percentile exceeds its limit');
  const percentileWords = r.maxP95 === undefined ? '' : `, 95th percentile ${length(p95)} (limit ${length(r.maxP95)})`;
  return decideRmse({
    found: `${rmseWords('RMSE', f.rmse, used, r, NSSDA_VERTICAL)}${percentileWords}, mean ${signedLength(f.mean)}, ${intervalWords(f.rmse, f.bounds)}`,
    rmse: f.rmse,
    bounds: f.bounds,
    limit: rmseLimit(r, NSSDA_VERTICAL),
    used,
    minPoints: r.minPoints,
    guarded: r.decision === 'guarded',
    reasons,
    certain,
  });
}

function adviceFor(state: State, missing: number): string[] {
  const advice: string[] = [];
  if (state === 'undetermined') advice.push('Survey more independent check points, spread over the whole area.');
  if (missing > 0)
    advice.push(
      `${plural(missing, 'check point has', 'check points have')} no usable cloud points nearby; see the list.`,
    );
  return advice;
}

function sizeOf({ point, dz }: HeightResidual) {
  return { id: point.id, difference: dz! };
}

/** Where none of the points has a cloud height, they may lie elsewhere altogether. */
function placementCauses(survey: readonly SurveyPoint[], tested: number, { delivery }: JudgeContext) {
  const facts = tested === 0 ? placementFacts(survey, delivery) : null;
  return facts ? likelyCauses('placement', facts) : [];
}

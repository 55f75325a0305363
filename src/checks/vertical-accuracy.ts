import { fileAt, passLabel } from '../delivery/delivery.js';
import type { SurveyPoint } from '../delivery/survey-points.js';
import { continuousClass } from '../geometry/accuracy.js';
import { rmseInterval } from '../geometry/distributions.js';
import { pointInPolygons } from '../geometry/polygon.js';
import { mean, median, nmad, percentile, rmse, standardDeviation } from '../geometry/statistics.js';
import type { HeightMethod, SurveyHeight } from '../measure/survey-heights.js';
import type { SurveySample } from '../measure/survey-samples.js';
import { decideRmse } from './accuracy-decision.js';
import { likelyCauses } from './advice/index.js';
import { blunderFacts, placementFacts } from './advice/survey-facts.js';
import type { Check, Evidence, Figure, JudgeContext, Location, Requirement, State, SurveyPointLine } from './check.js';
import { residualHistogram, SAMPLE_POINTS, surveySections } from './survey-views.js';
import { figure, length, plural, signedLength, undetermined } from './wording.js';

export interface VerticalAccuracyOptions {
  maxRmse: number;
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

export const verticalAccuracy = {
  id: 'vertical-accuracy',
  title: { pass: 'Heights agree with the check points', fail: 'Heights do not agree with the check points' },
  why: 'Independent check points are the only proof of absolute height; levels, drainage and clearances are taken from it.',
  sources: [
    {
      standard: 'ASPRS Positional Accuracy Standards, Edition 2',
      clause: '7.2, 7.4, 7.11',
      note: 'RMSE with divisor n; survey accuracy added in quadrature; errors above three times the class are examined',
    },
    { standard: 'chi-square interval of an RMSE', note: 'normal residuals with zero mean, n degrees of freedom' },
  ],
  schema: {
    properties: {
      maxRmse: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest RMSE of height at the check points, metres.',
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
          'Height of the cloud: robust local `plane`, `tin` (linear in the triangle) or `idw` (inverse distance weights).',
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
        description: 'A difference beyond this many times `maxRmse`, and as far from the median, is a blunder.',
      },
      maxBlunders: {
        type: 'integer',
        minimum: 0,
        default: 0,
        description: 'Blunders that are accepted; each is named in the report.',
      },
    },
    required: ['maxRmse'],
  },
  metrics: [
    'n',
    'used',
    'mean',
    'median',
    'std',
    'rmse',
    'rmseLow',
    'rmseHigh',
    'nmad',
    'p95',
    'min',
    'max',
    'blunders',
    'class',
    'rmseFit',
    'rmseSurvey',
    'rmseAll',
  ],
  limitSense: { rmse: 'at-most', blunders: 'at-most', mean: 'at-most' },
  quality: 'DQ_AbsoluteExternalPositionalAccuracy',
  canGuard: true,

  needs: (r: Requirement<VerticalAccuracyOptions>, { delivery }: JudgeContext) => {
    const around = {
      points: (delivery.surveyPoints ?? []).map(({ x, y, z }) => ({ x, y, z })),
      radius: r.radius,
      classes: r.classes ? [...r.classes].sort((a, b) => a - b) : null,
      most: MOST_KEPT,
    };
    const minPoints = r.minCloudPoints ?? LEAST_CLOUD_POINTS[r.method];
    return [
      { measurement: 'survey-heights', params: { ...around, method: r.method, minPoints } },
      { measurement: 'survey-samples', params: { ...around, keep: SAMPLE_POINTS } },
    ];
  },

  explain: ({ maxRmse, maxMean, minPoints, surface, method, radius, zone, maxBlunders }) =>
    `At ${minPoints} or more ${surface === 'any' ? '' : `${surface}-surface `}check points${zone ? ` in zone ${zone}` : ''}, the RMSE of height (cloud minus survey, cloud height by ${method} within ${radius} m) must not exceed ${length(maxRmse)}` +
    `${maxMean ? `, nor the mean difference ${length(maxMean)}` : ''}; ${maxBlunders === 0 ? 'no blunder is' : `${plural(maxBlunders, 'blunder')} may be`} accepted. Control points are listed but never judged.`,

  judge([measured, samples], requirement, context) {
    const survey = context.delivery.surveyPoints;
    const limits: Record<string, Figure> = {
      rmse: figure(requirement.maxRmse, 'm'),
      blunders: figure(requirement.maxBlunders, 'count'),
    };
    if (requirement.maxMean !== undefined) limits.mean = figure(requirement.maxMean, 'm');
    if (!survey)
      return undetermined('No survey points were handed in (--points), so heights could not be tested.', { limits });
    const residuals = survey.map((point, i) =>
      residualOf(point, (measured as SurveyHeight[])[i], requirement, context),
    );
    const checks = residuals.filter((r) => r.judged);
    const tested = checks.filter((r) => r.dz !== null);
    const blunders = markBlunders(tested, requirement);
    const used = tested.filter((r) => !r.blunder);
    const surveyPoints = residuals.map((r) => lineOf(r, requirement.method, context));
    const blunderPlaces = blunders.map((r) => placeOf(r, 'blunder: stands out from the other check points', context));
    const missing = checks.filter((r) => r.dz === null).map((r) => placeOf(r, r.height.reason ?? 'no height', context));
    const evidence: Evidence[] = [
      ...(blunders.length > 0 ? [{ kind: 'locations' as const, title: 'Blunders', items: blunderPlaces }] : []),
      { kind: 'locations', title: 'Largest differences', items: largest(used, context) },
      ...(missing.length > 0
        ? [{ kind: 'locations' as const, title: 'Check points without a cloud height', items: missing }]
        : []),
      ...surveySections(survey, (samples as SurveySample[] | undefined) ?? [], requirement.radius, context.delivery),
    ];
    const base = { limits, evidence, surveyPoints };
    const heightFacts = { limit: requirement.maxRmse, points: tested.map((r) => heightResidual(r, context)) };
    if (used.length === 0) {
      return undetermined(`None of ${plural(checks.length, 'check point')} could be compared with the cloud.`, {
        ...base,
        measured: { n: figure(checks.length, 'count'), used: figure(0, 'count') },
        advice: ['Check that the points file and the cloud have the same coordinate system, axis order and unit.'],
        causes: [...placementCauses(survey, tested.length, context), ...likelyCauses('heights', heightFacts)],
      });
    }
    const figures = describe(used, tested, checks.length, blunders.length);
    const { state, summary } = decide(
      figures,
      requirement,
      used.length,
      blunders.map((r) => r.point.id),
    );
    return {
      state,
      summary,
      measured: figures.measured,
      ...base,
      evidence: [...residualViews(residuals, figures, requirement.maxRmse), ...evidence],
      advice: adviceFor(state, missing.length),
      causes: [
        ...likelyCauses('heights', heightFacts),
        ...likelyCauses('blunders', blunderFacts(blunders.map(sizeOf), used.map(sizeOf))),
      ],
    };
  },
} satisfies Check<VerticalAccuracyOptions>;

interface Residual {
  point: SurveyPoint;
  height: SurveyHeight;
  dz: number | null;
  /** Whether this point counts: a check point on the surface and in the zone that are judged. */
  judged: boolean;
  blunder: boolean;
}

function residualOf(
  point: SurveyPoint,
  height: SurveyHeight,
  r: Requirement<VerticalAccuracyOptions>,
  context: JudgeContext,
): Residual {
  const zone = r.zone === undefined ? null : context.delivery.zones.find((z) => z.name === r.zone);
  const inside = zone === null || (zone !== undefined && pointInPolygons(point.x, point.y, zone.polygons));
  const judged = point.role === 'check' && (r.surface === 'any' || point.surface === r.surface) && inside;
  return { point, height, dz: height.dz, judged, blunder: false };
}

function residualViews(residuals: Residual[], { measured, mean, std, rmse: rms }: Figures, limit: number): Evidence[] {
  const shown = residuals.filter((r) => r.dz !== null && (r.judged || r.point.role === 'control'));
  const items = shown.map(({ point, dz, blunder, judged }) => ({
    label: point.id,
    value: dz!,
    group: judged ? (blunder ? ('blunder' as const) : ('used' as const)) : ('control' as const),
  }));
  const interval: [number, number] = [measured.rmseLow.value!, measured.rmseHigh.value!];
  const used = items.filter(({ group }) => group === 'used').map(({ value }) => value);
  return [
    { kind: 'residuals', title: 'Height residuals, cloud minus survey', unit: 'm', items, mean, rms, interval, limit },
    ...residualHistogram('Check points by height residual', 'm', used, { mean, std, nmad: measured.nmad.value! }),
  ];
}

/** Beyond the factor both from zero and from the median: an offset of the whole cloud makes no single point a blunder. */
function markBlunders(
  tested: Residual[],
  { maxRmse, blunderFactor }: Requirement<VerticalAccuracyOptions>,
): Residual[] {
  if (tested.length === 0) return [];
  const middle = median(tested.map((r) => r.dz!));
  const limit = blunderFactor * maxRmse;
  for (const r of tested) r.blunder = Math.abs(r.dz!) > limit && Math.abs(r.dz! - middle) > limit;
  return tested.filter((r) => r.blunder);
}

interface Figures {
  measured: Record<string, Figure>;
  mean: number;
  std: number;
  rmse: number;
}

function describe(used: Residual[], tested: Residual[], n: number, blunders: number): Figures {
  const dz = used.map((r) => r.dz!);
  const fit = rmse(dz);
  const sigmas = used.map((r) => r.point.sigmaV);
  const survey = sigmas.every((s) => s !== null) ? rmse(sigmas as number[]) : null;
  const total = survey === null ? fit : Math.hypot(fit, survey);
  const { low, high } = rmseInterval(total, dz.length);
  const std = dz.length > 1 ? standardDeviation(dz) : 0;
  const middle = mean(dz);
  return {
    mean: middle,
    std,
    rmse: total,
    measured: {
      n: figure(n, 'count'),
      used: figure(dz.length, 'count'),
      mean: figure(middle, 'm'),
      median: figure(median(dz), 'm'),
      std: figure(dz.length > 1 ? std : null, 'm'),
      rmse: figure(total, 'm'),
      rmseLow: figure(low, 'm'),
      rmseHigh: figure(high, 'm'),
      nmad: figure(nmad(dz), 'm'),
      p95: figure(percentile(dz.map(Math.abs), 95), 'm'),
      min: figure(Math.min(...dz), 'm'),
      max: figure(Math.max(...dz), 'm'),
      blunders: figure(blunders, 'count'),
      class: figure(continuousClass(total) / 100, 'm'),
      rmseFit: figure(fit, 'm'),
      rmseSurvey: figure(survey, 'm'),
      rmseAll: figure(rmse(tested.map((r) => r.dz!)), 'm'),
    },
  };
}

function decide(
  f: Figures,
  r: Requirement<VerticalAccuracyOptions>,
  used: number,
  blunders: string[],
): { state: State; summary: string } {
  const reasons: string[] = [];
  if (blunders.length > r.maxBlunders) reasons.push(`${plural(blunders.length, 'blunder')} (${blunders.join(', ')})`);
  if (r.maxMean !== undefined && Math.abs(f.mean) > r.maxMean) reasons.push(`the mean exceeds ${length(r.maxMean)}`);
  return decideRmse({
    found: `RMSE ${length(f.rmse)} at ${plural(used, 'check point')} (limit ${length(r.maxRmse)}), mean ${signedLength(f.mean)}`,
    rmse: f.rmse,
    freedom: used,
    limit: r.maxRmse,
    used,
    minPoints: r.minPoints,
    guarded: r.decision === 'guarded',
    reasons,
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

function heightResidual({ point: { id, x, y, z }, dz, blunder, height }: Residual, { delivery }: JudgeContext) {
  const told = height.perPass.flatMap(({ pass, dz }) => (dz === null ? [] : [{ pass: passLabel(delivery, pass), dz }]));
  return { id, x, y, z, dz: dz!, blunder, perPass: told };
}

function sizeOf({ point, dz }: Residual) {
  return { id: point.id, difference: dz! };
}

/** Where none of the points has a cloud height, they may lie elsewhere altogether. */
function placementCauses(survey: readonly SurveyPoint[], tested: number, { delivery }: JudgeContext) {
  const facts = tested === 0 ? placementFacts(survey, delivery) : null;
  return facts ? likelyCauses('placement', facts) : [];
}

function statusOf(r: Residual, context: JudgeContext): SurveyPointLine['status'] {
  if (r.blunder) return 'blunder';
  if (r.dz !== null) return 'used';
  return r.height.found === 0 && fileAt(context.delivery, r.point.x, r.point.y) === null ? 'outside' : 'no-data';
}

function lineOf(r: Residual, method: HeightMethod, context: JudgeContext): SurveyPointLine {
  const { id, role, x, y, z } = r.point;
  return {
    id,
    role,
    x,
    y,
    z,
    dz: r.dz,
    n: r.height.found,
    method,
    perPass: r.height.perPass.map(({ pass, dz, n }) => ({ pass: passLabel(context.delivery, pass), dz, n })),
    status: statusOf(r, context),
  };
}

function placeOf(r: Residual, note: string, context: JudgeContext): Location {
  const { id, x, y, z } = r.point;
  const file = fileAt(context.delivery, x, y);
  return { x, y, z, ...(file ? { file } : {}), value: r.dz, unit: 'm', note: `${id}: ${note}` };
}

function largest(used: Residual[], context: JudgeContext): Location[] {
  return [...used]
    .sort((a, b) => Math.abs(b.dz!) - Math.abs(a.dz!) || (a.point.id < b.point.id ? -1 : 1))
    .slice(0, 5)
    .map((r) => placeOf(r, 'cloud minus survey', context));
}

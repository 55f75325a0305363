import { combineQuadrature, continuousClass } from '../geometry/accuracy.js';
import { mean, rmse } from '../geometry/statistics.js';
import type { SurveyHeight } from '../measure/survey-heights.js';
import type { TargetFound } from '../measure/target-fits.js';
import { decideRmse, effectiveFreedom, intervalOf } from './accuracy-decision.js';
import { placementCauses, planCauses } from './advice/plan-facts.js';
import type { Check, Evidence, Figure, JudgeContext, Location, Requirement } from './check.js';
import {
  markPlanBlunders,
  type PlanResidual,
  planLine,
  planPlace,
  planResiduals,
  planWords,
  type TargetSearchOptions,
  targetNeeds,
  targetSearchSchema,
  targetTable,
} from './plan-residuals.js';
import { figure, length, plural, signedLength, undetermined } from './wording.js';

export interface Accuracy3dOptions extends TargetSearchOptions {
  maxRmse: number;
  minPoints: number;
  radius: number;
  blunderFactor: number;
  maxBlunders: number;
}

/** Cloud points kept around a survey point and pass, and those a plane needs. */
const MOST_KEPT = 1024;
const LEAST_FOR_PLANE = 10;

export const accuracy3d = {
  id: 'accuracy-3d',
  title: {
    pass: 'Places agree with the check points in space',
    fail: 'Places do not agree with the check points in space',
  },
  why: 'Coloured and textured clouds are measured in all directions at once; one figure in space says what such a measurement can be trusted to.',
  sources: [
    {
      standard: 'ASPRS Positional Accuracy Standards, Edition 2',
      clause: '7.5, 7.11',
      note: 'RMSE_3D of the horizontal and the vertical RMSE, survey accuracy added in quadrature',
    },
    {
      standard: 'common practice',
      note: 'height from the target or measured by hand, else from a robust plane of the cloud at the point',
    },
  ],
  schema: {
    properties: {
      maxRmse: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest RMSE in space (RMSE_3D) at the check points, metres.',
      },
      minPoints: { type: 'integer', minimum: 1, default: 30, description: 'Check points needed for a verdict.' },
      radius: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 50,
        default: 0.5,
        description: 'Cloud points within this distance make the plane where no height was measured by hand, metres.',
      },
      ...targetSearchSchema,
      blunderFactor: {
        type: 'number',
        exclusiveMinimum: 1,
        default: 3,
        description:
          'A difference of an axis beyond this many times `maxRmse` / sqrt(3), and as far from the median, is a blunder.',
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
    'rmse3d',
    'rmse3dLow',
    'rmse3dHigh',
    'rmseX',
    'rmseY',
    'rmseH',
    'rmseV',
    'rmseFit',
    'rmseSurvey',
    'blunders',
    'class',
  ],
  limitSense: { rmse3d: 'at-most', blunders: 'at-most' },
  quality: 'DQ_AbsoluteExternalPositionalAccuracy',
  canGuard: true,

  needs: (r: Requirement<Accuracy3dOptions>, { delivery }: JudgeContext) => [
    {
      measurement: 'survey-heights',
      params: {
        points: (delivery.surveyPoints ?? []).map(({ x, y, z }) => ({ x, y, z })),
        radius: r.radius,
        classes: null,
        most: MOST_KEPT,
        method: 'plane',
        minPoints: LEAST_FOR_PLANE,
      },
    },
    ...targetNeeds(r, delivery),
  ],

  explain: ({ maxRmse, minPoints, search, zone, maxBlunders }) =>
    `At ${minPoints} or more check points${zone ? ` in zone ${zone}` : ''} that were measured in the cloud by hand or carry a target (looked for within ${search} m), the RMSE in space must not exceed ${length(maxRmse)}; ${maxBlunders === 0 ? 'no blunder is' : `${plural(maxBlunders, 'blunder')} may be`} accepted.`,

  judge([heights, found], requirement, context) {
    const limits: Record<string, Figure> = {
      rmse3d: figure(requirement.maxRmse, 'm'),
      blunders: figure(requirement.maxBlunders, 'count'),
    };
    if (!context.delivery.surveyPoints)
      return undetermined('No survey points were handed in (--points), so places could not be tested.', { limits });
    const residuals = planResiduals((found as TargetFound[] | undefined) ?? [], requirement.zone, context);
    residuals.forEach((r, i) => {
      // A place measured by hand without a height: that of the cloud at the surveyed place.
      if (r.dx !== null && r.dz === null) r.dz = (heights as SurveyHeight[])[i].dz;
    });
    const checks = residuals.filter((r) => r.judged);
    const tested = checks.filter((r) => r.dx !== null && r.dz !== null);
    const perAxis = (requirement.blunderFactor * requirement.maxRmse) / Math.sqrt(3);
    const blunders = markPlanBlunders(tested, { dx: perAxis, dy: perAxis, dz: perAxis });
    const used = tested.filter((r) => !r.blunder);
    const surveyPoints = residuals.map((r) => planLine(r, context));
    const evidence = evidenceOf(checks, used, blunders, residuals, context);
    if (used.length === 0) {
      return undetermined(
        checks.length === 0
          ? 'There is no check point to test.'
          : `None of ${plural(checks.length, 'check point')} has a place and a height in the cloud.`,
        {
          limits,
          evidence,
          surveyPoints,
          measured: { n: figure(checks.length, 'count'), used: figure(0, 'count') },
          advice: [
            'Give cloud_x, cloud_y and cloud_z as measured in the cloud, or mark points with targets and give their kind and size in the points file.',
          ],
          causes: placementCauses(checks, context),
        },
      );
    }
    const f = describe(used, checks.length, blunders.length);
    const reasons =
      blunders.length > requirement.maxBlunders
        ? [`${plural(blunders.length, 'blunder')} (${blunders.map((r) => r.point.id).join(', ')})`]
        : [];
    const { state, summary } = decideRmse({
      found: `RMSE in space ${length(f.rmse3d)} at ${plural(used.length, 'check point')} (limit ${length(requirement.maxRmse)}), mean ${f.means.map(signedLength).join(', ')} in x, y, z`,
      rmse: f.rmse3d,
      freedom: f.freedom,
      limit: requirement.maxRmse,
      used: used.length,
      minPoints: requirement.minPoints,
      guarded: requirement.decision === 'guarded',
      reasons,
    });
    return {
      state,
      summary,
      measured: f.measured,
      limits,
      evidence,
      advice:
        state === 'undetermined' ? ['Mark and survey more independent check points, spread over the whole area.'] : [],
      causes: planCauses(used, blunders, requirement.maxRmse),
      surveyPoints,
    };
  },
} satisfies Check<Accuracy3dOptions>;

function describe(used: readonly PlanResidual[], n: number, blunders: number) {
  const columns = (['dx', 'dy', 'dz'] as const).map((axis) => used.map((r) => r[axis]!));
  const parts = columns.map((values) => rmse(values));
  const fit = combineQuadrature(...parts);
  const known = used.every(({ point }) => point.sigmaH !== null && point.sigmaV !== null);
  // sigma_h is per axis: two of them and sigma_v make the survey's accuracy in space.
  const survey = known
    ? combineQuadrature(
        Math.SQRT2 * rmse(used.map(({ point }) => point.sigmaH!)),
        rmse(used.map(({ point }) => point.sigmaV!)),
      )
    : null;
  const rmse3d = survey === null ? fit : combineQuadrature(fit, survey);
  const freedom = effectiveFreedom(parts, used.length);
  const { low, high } = intervalOf(rmse3d, freedom);
  const measured: Record<string, Figure> = {
    n: figure(n, 'count'),
    used: figure(used.length, 'count'),
    rmse3d: figure(rmse3d, 'm'),
    rmse3dLow: figure(low, 'm'),
    rmse3dHigh: figure(high, 'm'),
    rmseX: figure(parts[0], 'm'),
    rmseY: figure(parts[1], 'm'),
    rmseH: figure(combineQuadrature(parts[0], parts[1]), 'm'),
    rmseV: figure(parts[2], 'm'),
    rmseFit: figure(fit, 'm'),
    rmseSurvey: figure(survey, 'm'),
    blunders: figure(blunders, 'count'),
    class: figure(continuousClass(rmse3d) / 100, 'm'),
  };
  return { rmse3d, freedom, means: columns.map((values) => mean(values)), measured };
}

const LARGEST = 5;

function evidenceOf(
  checks: readonly PlanResidual[],
  used: readonly PlanResidual[],
  blunders: readonly PlanResidual[],
  residuals: readonly PlanResidual[],
  context: JudgeContext,
): Evidence[] {
  const size = (r: PlanResidual) => Math.hypot(r.dx!, r.dy!, r.dz!);
  const place = (r: PlanResidual, note: string): Location => ({
    ...planPlace(r, note, context),
    value: r.dx === null || r.dz === null ? null : size(r),
  });
  const words = (r: PlanResidual) => `${planWords(r)}, ${signedLength(r.dz!)} up`;
  const list = (title: string, items: readonly PlanResidual[], note: (r: PlanResidual) => string): Evidence[] =>
    items.length === 0 ? [] : [{ kind: 'locations', title, items: items.map((r) => place(r, note(r))) }];
  const missing = checks.filter((r) => r.dx === null || r.dz === null);
  const farthest = [...used].sort((a, b) => size(b) - size(a) || (a.point.id < b.point.id ? -1 : 1)).slice(0, LARGEST);
  return [
    ...list('Blunders', blunders, (r) => `blunder, ${words(r)}`),
    ...list('Largest differences', farthest, words),
    ...list('Check points without a place in the cloud', missing, (r) =>
      r.how === 'target'
        ? (r.target?.reason ?? 'target not found')
        : r.dx === null
          ? 'not measured in the cloud, and no target'
          : 'no height in the cloud',
    ),
    ...targetTable(residuals),
  ];
}

import { accuracyInSpaceAt95, combineQuadrature, continuousClass } from '../geometry/accuracy.js';
import { max, mean, rmse } from '../geometry/statistics.js';
import { fact } from '../measure/fact-types.js';
import {
  certainReasons,
  decideRmse,
  effectiveFreedom,
  intervalOf,
  noneAgrees,
  rmseLimit,
  rmseWords,
} from './accuracy/decision.js';
import {
  type HorizontalResidual,
  horizontalLine,
  horizontalPlace,
  horizontalResiduals,
  horizontalWords,
  markHorizontalBlunders,
  type TargetSearchOptions,
  targetSearchSchema,
  targetsRequest,
  targetTable,
} from './accuracy/horizontal-residuals.js';
import { accuracyClass, at95, blunders, checkPoints, largest, rmseParts } from './accuracy/metrics.js';
import { type AccuracyOptions, accuracySchema, limitSentence, statedBy } from './accuracy/options.js';
import { addsSurvey, statementFor } from './accuracy/statement.js';
import { horizontalCauses, placementCauses } from './advice/horizontal-facts.js';
import type { Check, Evidence, Figure, JudgeContext, Location, Requirement } from './contract/check.js';
import { atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, plural, signedLength, undetermined } from './contract/wording.js';

export interface Accuracy3dOptions extends TargetSearchOptions, AccuracyOptions {
  minPoints: number;
  radius: number;
  blunderFactor: number;
  maxBlunders: number;
}

/** Cloud points kept around a survey point and pass, and those a plane needs. */
const MOST_KEPT = 1024;
const LEAST_FOR_PLANE = 10;

const needs = (r: Requirement<Accuracy3dOptions>, { delivery }: JudgeContext) => ({
  heights: fact('survey-heights', {
    points: (delivery.surveyPoints ?? []).map(({ x, y, z }) => ({ x, y, z })),
    radius: r.radius,
    classes: null,
    most: MOST_KEPT,
    method: 'plane',
    minPoints: LEAST_FOR_PLANE,
  }),
  targets: targetsRequest(r, delivery),
});

/** The figures, and the limits they are held against. */
const metrics = {
  blunders,
  rmse3d: metric('RMSE 3D', 'm', atMost('maxRmse')),
  at95,
  largest,
  ...checkPoints,
  rmse3dLow: metric('RMSE 3D, lower bound', 'm'),
  rmse3dHigh: metric('RMSE 3D, upper bound', 'm'),
  rmseX: metric('RMSE x', 'm'),
  rmseY: metric('RMSE y', 'm'),
  rmseH: metric('RMSE horizontal', 'm'),
  rmseV: metric('RMSE of height', 'm'),
  class: accuracyClass,
  ...rmseParts,
} satisfies Metrics;

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
      standard: 'chi-square distribution',
      note: '95 % in space from the RMSE of the axes, degrees of freedom after Satterthwaite: 1.6140 for three alike',
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
          'A difference of an axis beyond this many times `maxRmse` / sqrt(3) (or `maxAt95` / 2.7955), and as far from the median, is a blunder.',
      },
      maxBlunders: {
        type: 'integer',
        minimum: 0,
        default: 0,
        description: 'Blunders that are accepted; each is named in the report.',
      },
      ...accuracySchema('space'),
    },
    required: [],
    anyOf: [{ required: ['maxRmse'] }, { required: ['maxAt95'] }],
  },
  metrics,
  quality: 'DQ_AbsoluteExternalPositionalAccuracy',
  sideFiles: () => ['points'],
  canGuard: true,

  needs,

  explain: (r) =>
    `At ${r.minPoints} or more check points${r.zone ? ` in zone ${r.zone}` : ''} that were measured in the cloud by hand or carry a target (looked for within ${r.search} m), ${limitSentence(
      [
        ['the RMSE in space', r.maxRmse],
        ['the accuracy in space at 95 % confidence', r.maxAt95],
        ['a single difference', r.maxResidual],
      ],
    )}; ${r.maxBlunders === 0 ? 'no blunder is' : `${plural(r.maxBlunders, 'blunder')} may be`} accepted.${statedBy(r)}`,

  judge({ heights, targets }, requirement, context) {
    const limits = limitsOf(metrics, requirement);
    if (!context.delivery.surveyPoints)
      return undetermined('No survey points were handed in (--points), so places could not be tested.', { limits });
    const residuals = horizontalResiduals(targets ?? [], requirement.zone, context);
    residuals.forEach((r, i) => {
      // A place measured by hand without a height: that of the cloud at the surveyed place.
      if (r.dx !== null && r.dz === null) r.dz = heights[i].dz;
    });
    const checks = residuals.filter((r) => r.judged);
    const tested = checks.filter((r) => r.dx !== null && r.dz !== null);
    const target = requirement.maxRmse ?? requirement.maxAt95! / accuracyInSpaceAt95(EVEN_AXES);
    const perAxis = (requirement.blunderFactor * target) / Math.sqrt(3);
    const blunders = markHorizontalBlunders(tested, { dx: perAxis, dy: perAxis, dz: perAxis });
    const used = tested.filter((r) => !r.blunder);
    const surveyPoints = residuals.map((r) => horizontalLine(r, context));
    const evidence = evidenceOf(checks, used, blunders, residuals, context);
    const points = {
      tested: used,
      vegetated: [],
      blunders,
      blundersAccepted: requirement.maxBlunders,
      untested: checks.length - tested.length,
      target,
    };
    const stated = statementFor('space', requirement, points, context);
    const certain = certainReasons(
      tested.map((r) => ({ id: r.point.id, size: sizeOf(r) })),
      blunders,
      requirement,
    );
    if (used.length === 0) {
      const counts = { checks: checks.length, tested: tested.length, blunders: blunders.length };
      const none = noneAgrees(counts, certain);
      if (none !== null)
        return { ...none, limits, evidence, surveyPoints, ...stated, causes: horizontalCauses(used, blunders, target) };
      return undetermined(
        checks.length === 0
          ? 'There is no check point to test.'
          : `None of ${plural(checks.length, 'check point')} has a place and a height in the cloud.`,
        {
          limits,
          evidence,
          surveyPoints,
          ...stated,
          measured: { n: figure(checks.length, 'count'), used: figure(0, 'count') },
          advice: [
            'Give cloud_x, cloud_y and cloud_z as measured in the cloud, or mark points with targets and give their kind and size in the points file.',
          ],
          causes: placementCauses(checks, context),
        },
      );
    }
    const f = describe(used, tested, checks.length, requirement);
    const { state, summary } = decideRmse({
      found: `${rmseWords('RMSE in space', f.rmse3d, used.length, requirement, f.factor)}, mean ${f.means.map(signedLength).join(', ')} in x, y, z`,
      rmse: f.rmse3d,
      freedom: f.freedom,
      limit: rmseLimit(requirement, f.factor),
      used: used.length,
      minPoints: requirement.minPoints,
      guarded: requirement.decision === 'guarded',
      reasons: [],
      certain,
    });
    return {
      state,
      summary,
      measured: f.measured,
      limits,
      evidence,
      advice:
        state === 'undetermined' ? ['Mark and survey more independent check points, spread over the whole area.'] : [],
      causes: horizontalCauses(used, blunders, target),
      surveyPoints,
      ...stated,
    };
  },
} satisfies Check<Accuracy3dOptions, typeof needs>;

/** Three equal axes with an RMSE in space of one. */
const EVEN_AXES = [1, 1, 1].map((axis) => axis / Math.sqrt(3));

function sizeOf(r: HorizontalResidual): number {
  return Math.hypot(r.dx!, r.dy!, r.dz!);
}

function describe(
  used: readonly HorizontalResidual[],
  tested: readonly HorizontalResidual[],
  n: number,
  requirement: Accuracy3dOptions,
) {
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
  const rmse3d = survey === null || !addsSurvey(requirement) ? fit : combineQuadrature(fit, survey);
  const freedom = effectiveFreedom(parts, used.length);
  // Accuracy at 95 % is so many times the RMSE in space; differences of nothing at all leave it open.
  const factor = accuracyInSpaceAt95(fit > 0 ? parts : EVEN_AXES) / (fit > 0 ? fit : 1);
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
    blunders: figure(tested.length - used.length, 'count'),
    class: figure(continuousClass(rmse3d) / 100, 'm'),
    ...(requirement.maxAt95 === undefined ? {} : { at95: figure(factor * rmse3d, 'm') }),
    ...(requirement.maxResidual === undefined ? {} : { largest: figure(max(tested.map(sizeOf)), 'm') }),
  };
  return { rmse3d, freedom, factor, means: columns.map((values) => mean(values)), measured };
}

const LARGEST = 5;

function evidenceOf(
  checks: readonly HorizontalResidual[],
  used: readonly HorizontalResidual[],
  blunders: readonly HorizontalResidual[],
  residuals: readonly HorizontalResidual[],
  context: JudgeContext,
): Evidence[] {
  const place = (r: HorizontalResidual, note: string): Location => ({
    ...horizontalPlace(r, note, context),
    value: r.dx === null || r.dz === null ? null : sizeOf(r),
  });
  const words = (r: HorizontalResidual) => `${horizontalWords(r)}, ${signedLength(r.dz!)} up`;
  const list = (
    title: string,
    items: readonly HorizontalResidual[],
    note: (r: HorizontalResidual) => string,
  ): Evidence[] =>
    items.length === 0 ? [] : [{ kind: 'locations', title, items: items.map((r) => place(r, note(r))) }];
  const missing = checks.filter((r) => r.dx === null || r.dz === null);
  const farthest = [...used]
    .sort((a, b) => sizeOf(b) - sizeOf(a) || (a.point.id < b.point.id ? -1 : 1))
    .slice(0, LARGEST);
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

import { combineQuadrature, continuousClass, NSSDA_RADIAL, nssdaHorizontal } from '../geometry/accuracy.js';
import { radiusOf95 } from '../geometry/circular-error.js';
import { max, mean, rmse, standardDeviation } from '../geometry/statistics.js';
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
import type { Check, Evidence, Figure, JudgeContext, Requirement } from './contract/check.js';
import { atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, length, plural, signedLength, undetermined } from './contract/wording.js';

export interface HorizontalAccuracyOptions extends TargetSearchOptions, AccuracyOptions {
  maxMean?: number;
  minPoints: number;
  blunderFactor: number;
  maxBlunders: number;
}

const needs = (r: Requirement<HorizontalAccuracyOptions>, { delivery }: JudgeContext) => ({
  targets: targetsRequest(r, delivery),
});

/** The figures, and the limits they are held against. */
const metrics = {
  blunders,
  rmseH: metric('RMSE horizontal', 'm', atMost('maxRmse')),
  at95,
  largest,
  meanX: metric('mean x', 'm', atMost('maxMean')),
  meanY: metric('mean y', 'm', atMost('maxMean')),
  ...checkPoints,
  rmseX: metric('RMSE x', 'm'),
  rmseY: metric('RMSE y', 'm'),
  rmseHLow: metric('RMSE horizontal, lower bound', 'm'),
  rmseHHigh: metric('RMSE horizontal, upper bound', 'm'),
  stdX: metric('standard deviation x', 'm'),
  stdY: metric('standard deviation y', 'm'),
  class: accuracyClass,
  ...rmseParts,
} satisfies Metrics;

export const horizontalAccuracy = {
  id: 'horizontal-accuracy',
  title: {
    pass: 'Places agree with the check points in plan',
    fail: 'Places do not agree with the check points in plan',
  },
  why: 'A cloud can have the right heights at the wrong place; boundaries, kerb lines and tracks are taken from its plan position.',
  sources: [
    {
      standard: 'ASPRS Positional Accuracy Standards, Edition 2',
      clause: '7.2, 7.3, 7.11, 7.12',
      note: 'RMSE_H of both axes, survey accuracy added in quadrature, well-defined points only',
    },
    { standard: 'FGDC-STD-007.3-1998 (NSSDA)', clause: '3-A.1', note: 'RMSE of each axis and radial RMSE, divisor n' },
    {
      standard: 'common practice',
      note: 'targets located by least squares of their brightness; chi-square interval with degrees of freedom after Satterthwaite',
    },
  ],
  schema: {
    properties: {
      maxRmse: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest horizontal RMSE of both axes together (RMSE_H) at the check points, metres.',
      },
      maxMean: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest mean difference of either axis, either sign, metres.',
      },
      minPoints: { type: 'integer', minimum: 1, default: 30, description: 'Check points needed for a verdict.' },
      ...targetSearchSchema,
      blunderFactor: {
        type: 'number',
        exclusiveMinimum: 1,
        default: 3,
        description:
          'A difference of an axis beyond this many times `maxRmse` / sqrt(2) (or `maxAt95` / 2.4477), and as far from the median, is a blunder.',
      },
      maxBlunders: {
        type: 'integer',
        minimum: 0,
        default: 0,
        description: 'Blunders that are accepted; each is named in the report.',
      },
      ...accuracySchema('horizontal'),
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
        ['the horizontal RMSE', r.maxRmse],
        ['the accuracy at 95 % confidence (exact for the two axes, or by the standard named)', r.maxAt95],
        ['a single difference', r.maxResidual],
        ['the mean difference of an axis', r.maxMean],
      ],
    )}; ${r.maxBlunders === 0 ? 'no blunder is' : `${plural(r.maxBlunders, 'blunder')} may be`} accepted.${statedBy(r)}`,

  judge({ targets }, requirement, context) {
    const limits = limitsOf(metrics, requirement);
    if (!context.delivery.surveyPoints)
      return undetermined('No survey points were handed in (--points), so places could not be tested.', { limits });
    const residuals = horizontalResiduals(targets ?? [], requirement.zone, context);
    const checks = residuals.filter((r) => r.judged);
    const tested = checks.filter((r) => r.dx !== null);
    const target = requirement.maxRmse ?? requirement.maxAt95! / NSSDA_RADIAL;
    const perAxis = (requirement.blunderFactor * target) / Math.SQRT2;
    const blunders = markHorizontalBlunders(tested, { dx: perAxis, dy: perAxis });
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
    const stated = statementFor('horizontal', requirement, points, context);
    const certain = certainReasons(
      tested.map(({ point, dx, dy }) => ({ id: point.id, size: Math.hypot(dx!, dy!) })),
      blunders,
      requirement,
    );
    if (used.length === 0) {
      const counts = { checks: checks.length, tested: tested.length, blunders: blunders.length };
      const none = noneAgrees(counts, certain);
      if (none !== null)
        return { ...none, limits, evidence, surveyPoints, ...stated, causes: horizontalCauses(used, blunders, target) };
      const refused = checks.filter((r) => r.how === 'target').length;
      return undetermined(
        checks.length === 0
          ? 'There is no check point to test.'
          : `None of ${plural(checks.length, 'check point')} has a place in the cloud${refused > 0 ? `; ${plural(refused, 'target')} could not be found` : ''}.`,
        {
          limits,
          evidence,
          surveyPoints,
          ...stated,
          measured: { n: figure(checks.length, 'count'), used: figure(0, 'count') },
          advice: [
            'Give cloud_x and cloud_y as measured in the cloud, or mark points with targets and give their kind and size in the points file.',
          ],
          causes: placementCauses(checks, context),
        },
      );
    }
    const f = describe(used, tested, checks.length, requirement);
    const reasons: string[] = [];
    const { maxMean } = requirement;
    if (maxMean !== undefined && Math.max(Math.abs(f.meanX), Math.abs(f.meanY)) > maxMean)
      reasons.push(`the mean of an axis exceeds ${length(maxMean)}`);
    const limit = rmseLimit(requirement, f.factor);
    const { state, summary } = decideRmse({
      found: `${rmseWords('Horizontal RMSE', f.rmseH, used.length, requirement, f.factor)}, mean ${signedLength(f.meanX)} east, ${signedLength(f.meanY)} north`,
      rmse: f.rmseH,
      freedom: f.freedom,
      limit,
      used: used.length,
      minPoints: requirement.minPoints,
      guarded: requirement.decision === 'guarded',
      reasons,
      certain,
    });
    return {
      state,
      summary,
      measured: f.measured,
      limits,
      evidence: [residualView(residuals, f, limit), ...evidence],
      advice:
        state === 'undetermined' ? ['Mark and survey more independent check points, spread over the whole area.'] : [],
      causes: horizontalCauses(used, blunders, target),
      surveyPoints,
      ...stated,
    };
  },
} satisfies Check<HorizontalAccuracyOptions, typeof needs>;

interface HorizontalFigures {
  meanX: number;
  meanY: number;
  rmseH: number;
  freedom: number;
  /** Accuracy at 95 % in units of the horizontal RMSE. */
  factor: number;
  low: number;
  high: number;
  measured: Record<string, Figure>;
}

function describe(
  used: readonly HorizontalResidual[],
  tested: readonly HorizontalResidual[],
  n: number,
  r: HorizontalAccuracyOptions,
): HorizontalFigures {
  const dx = used.map((u) => u.dx!);
  const dy = used.map((u) => u.dy!);
  const [rmseX, rmseY] = [rmse(dx), rmse(dy)];
  const fit = combineQuadrature(rmseX, rmseY);
  const sigmas = used.map((u) => u.point.sigmaH);
  // The survey's accuracy is given per axis; of both axes it is sqrt(2) times that (ASPRS Edition 2, 7.11).
  const survey = sigmas.every((s) => s !== null) ? Math.SQRT2 * rmse(sigmas as number[]) : null;
  const rmseH = survey === null || !addsSurvey(r) ? fit : combineQuadrature(fit, survey);
  const freedom = effectiveFreedom([rmseX, rmseY], used.length);
  const { low, high } = intervalOf(rmseH, freedom);
  const [meanX, meanY] = [mean(dx), mean(dy)];
  const factor = rmseH > 0 ? at95Of(rmseX, rmseY, r.standard) / rmseH : NSSDA_RADIAL;
  const several = used.length > 1;
  return {
    meanX,
    meanY,
    rmseH,
    freedom,
    factor,
    low,
    high,
    measured: {
      n: figure(n, 'count'),
      used: figure(used.length, 'count'),
      rmseX: figure(rmseX, 'm'),
      rmseY: figure(rmseY, 'm'),
      rmseH: figure(rmseH, 'm'),
      rmseHLow: figure(low, 'm'),
      rmseHHigh: figure(high, 'm'),
      meanX: figure(meanX, 'm'),
      meanY: figure(meanY, 'm'),
      stdX: figure(several ? standardDeviation(dx) : null, 'm'),
      stdY: figure(several ? standardDeviation(dy) : null, 'm'),
      rmseFit: figure(fit, 'm'),
      rmseSurvey: figure(survey, 'm'),
      blunders: figure(tested.length - used.length, 'count'),
      class: figure(continuousClass(rmseH) / 100, 'm'),
      ...(r.maxAt95 === undefined ? {} : { at95: figure(factor * rmseH, 'm') }),
      ...(r.maxResidual === undefined
        ? {}
        : { largest: figure(max(tested.map((t) => Math.hypot(t.dx!, t.dy!))), 'm') }),
    },
  };
}

/** Standards that state the accuracy at 95 % by the formula of NSSDA. */
const BY_NSSDA = ['nssda-1998', 'asprs-2014'];

/** Accuracy at 95 %, metres: by the named standard where it has a formula for these axes, else the exact radius. */
function at95Of(rmseX: number, rmseY: number, standard: string | undefined): number {
  const stated = standard !== undefined && BY_NSSDA.includes(standard) ? nssdaHorizontal(rmseX, rmseY) : null;
  return stated ?? radiusOf95(rmseX, rmseY);
}

function residualView(residuals: readonly HorizontalResidual[], f: HorizontalFigures, limit: number): Evidence {
  const shown = residuals.filter((r) => r.dx !== null && (r.judged || r.point.role === 'control'));
  return {
    kind: 'residuals',
    title: 'Distance in plan of cloud and survey',
    unit: 'm',
    items: shown.map((r) => ({
      label: r.point.id,
      value: Math.hypot(r.dx!, r.dy!),
      group: r.judged ? (r.blunder ? ('blunder' as const) : ('used' as const)) : ('control' as const),
    })),
    mean: null,
    rms: f.rmseH,
    interval: [f.low, f.high],
    limit,
  };
}

const LARGEST = 5;

function evidenceOf(
  checks: readonly HorizontalResidual[],
  used: readonly HorizontalResidual[],
  blunders: readonly HorizontalResidual[],
  residuals: readonly HorizontalResidual[],
  context: JudgeContext,
): Evidence[] {
  const missing = checks.filter((r) => r.dx === null);
  const farthest = [...used]
    .sort((a, b) => Math.hypot(b.dx!, b.dy!) - Math.hypot(a.dx!, a.dy!) || (a.point.id < b.point.id ? -1 : 1))
    .slice(0, LARGEST);
  const list = (
    title: string,
    items: readonly HorizontalResidual[],
    note: (r: HorizontalResidual) => string,
  ): Evidence[] =>
    items.length === 0
      ? []
      : [{ kind: 'locations', title, items: items.map((r) => horizontalPlace(r, note(r), context)) }];
  return [
    ...list('Blunders', blunders, (r) => `blunder, ${horizontalWords(r)}`),
    ...list('Largest differences', farthest, horizontalWords),
    ...list('Check points without a place in the cloud', missing, (r) =>
      r.how === 'target' ? (r.target?.reason ?? 'target not found') : 'not measured in the cloud, and no target',
    ),
    ...targetTable(residuals),
  ];
}

import { combineQuadrature, continuousClass, NSSDA_RADIAL, nssdaHorizontal } from '../geometry/accuracy.js';
import { radiusOf95 } from '../geometry/circular-error.js';
import { rmsBounds } from '../geometry/rms-interval.js';
import { max, mean, rmse, standardDeviation } from '../geometry/statistics.js';
import { intervalOf } from './accuracy/decision.js';
import {
  type HorizontalResidual,
  horizontalResiduals,
  horizontalWords,
  type TargetSearchOptions,
  targetSearchSchema,
  targetsRequest,
} from './accuracy/horizontal-residuals.js';
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
import { accuracySchema, limitSentence, statedBy } from './accuracy/options.js';
import { judgePlaces, type PlaceFigures, type PlaceKind, type PlaceOptions, sizeIn } from './accuracy/places.js';
import { addsSurvey } from './accuracy/statement.js';
import type { Check, Evidence, JudgeContext, Requirement } from './contract/check.js';
import { atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, length, plural, signedLength, undetermined } from './contract/wording.js';

export interface HorizontalAccuracyOptions extends TargetSearchOptions, PlaceOptions {
  maxMean?: number;
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
  rmseHLow: metric('RMSE horizontal, lower end of the 95 % confidence interval', 'm'),
  rmseHHigh: metric('RMSE horizontal, upper end of the 95 % confidence interval', 'm'),
  normalErrors,
  stdX: metric('standard deviation x', 'm'),
  stdY: metric('standard deviation y', 'm'),
  class: accuracyClass,
  ...rmseParts,
} satisfies Metrics;

export const horizontalAccuracy = {
  id: 'horizontal-accuracy',
  title: 'Horizontal accuracy at the check points',
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
      note: 'targets located by least squares of their brightness',
    },
    intervalSource,
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
    `At ${r.minPoints} or more check points${r.zone ? ` in zone ${r.zone}` : ''} that were observed manually in the cloud or carry a target (looked for within ${r.search} m), ${limitSentence(
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
    return judgePlaces(residuals, kindOf(residuals, requirement), requirement, limits, context);
  },
} satisfies Check<HorizontalAccuracyOptions, typeof needs>;

interface HorizontalFigures extends PlaceFigures {
  meanX: number;
  meanY: number;
  low: number;
  high: number;
}

const AXES = ['dx', 'dy'] as const;

function kindOf(
  residuals: readonly HorizontalResidual[],
  requirement: HorizontalAccuracyOptions,
): PlaceKind<HorizontalFigures> {
  const { maxMean } = requirement;
  return {
    aspect: 'horizontal',
    axes: AXES,
    factorOfEqualAxes: NSSDA_RADIAL,
    rmseName: 'Horizontal RMSE',
    lacking: 'a place in the cloud',
    columns: 'cloud_x and cloud_y',
    words: horizontalWords,
    reasonOfMissing: (r) =>
      r.how === 'target' ? (r.target?.reason ?? 'target not found') : 'not measured in the cloud, and no target',
    describe: (used, tested, checks) => describe(used, tested, checks, requirement),
    meanWords: ({ meanX, meanY }) => `${signedLength(meanX)} east, ${signedLength(meanY)} north`,
    reasons: ({ meanX, meanY }) =>
      maxMean !== undefined && Math.max(Math.abs(meanX), Math.abs(meanY)) > maxMean
        ? [`the mean of an axis exceeds ${length(maxMean)}`]
        : [],
    views: (figures, limit) => [residualView(residuals, figures, limit)],
  };
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
  const bounds = rmsBounds([dx, dy]);
  const { low, high } = intervalOf(rmseH, bounds);
  const [meanX, meanY] = [mean(dx), mean(dy)];
  const factor = rmseH > 0 ? at95Of(rmseX, rmseY, r.standard) / rmseH : NSSDA_RADIAL;
  const several = used.length > 1;
  return {
    meanX,
    meanY,
    rmse: rmseH,
    bounds,
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
      normalErrors: figure(bounds.normalErrors, 'share'),
      meanX: figure(meanX, 'm'),
      meanY: figure(meanY, 'm'),
      stdX: figure(several ? standardDeviation(dx) : null, 'm'),
      stdY: figure(several ? standardDeviation(dy) : null, 'm'),
      rmseFit: figure(fit, 'm'),
      rmseSurvey: figure(survey, 'm'),
      blunders: figure(tested.length - used.length, 'count'),
      class: figure(continuousClass(rmseH) / 100, 'm'),
      ...(r.maxAt95 === undefined ? {} : { at95: figure(factor * rmseH, 'm') }),
      ...(r.maxResidual === undefined ? {} : { largest: figure(max(tested.map((t) => sizeIn(AXES, t))), 'm') }),
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
    rms: f.rmse,
    interval: [f.low, f.high],
    limit,
  };
}

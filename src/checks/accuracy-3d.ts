import { accuracyInSpaceAt95, combineQuadrature, continuousClass } from '../geometry/accuracy.js';
import { rmsBounds } from '../geometry/rms-interval.js';
import { max, mean, rmse } from '../geometry/statistics.js';
import { fact } from '../measure/fact-types.js';
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
import type { Check, Figure, JudgeContext, Requirement } from './contract/check.js';
import { atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, plural, signedLength, undetermined } from './contract/wording.js';

export interface Accuracy3dOptions extends TargetSearchOptions, PlaceOptions {
  radius: number;
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
  rmse3dLow: metric('RMSE 3D, lower end of the 95 % confidence interval', 'm'),
  rmse3dHigh: metric('RMSE 3D, upper end of the 95 % confidence interval', 'm'),
  normalErrors,
  rmseX: metric('RMSE x', 'm'),
  rmseY: metric('RMSE y', 'm'),
  rmseH: metric('RMSE horizontal', 'm'),
  rmseV: metric('RMSE of height', 'm'),
  class: accuracyClass,
  ...rmseParts,
} satisfies Metrics;

export const accuracy3d = {
  id: 'accuracy-3d',
  title: '3D accuracy at the check points',
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
      note: 'height from the target or observed manually, else from a robust plane of the cloud at the point',
    },
    intervalSource,
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
        description: 'Cloud points within this distance make the plane where no height was observed manually, metres.',
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
    `At ${r.minPoints} or more check points${r.zone ? ` in zone ${r.zone}` : ''} that were observed manually in the cloud or carry a target (looked for within ${r.search} m), ${limitSentence(
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
    return judgePlaces(residuals, kindOf(requirement), requirement, limits, context);
  },
} satisfies Check<Accuracy3dOptions, typeof needs>;

/** Three equal axes with an RMSE in space of one. */
const EVEN_AXES = [1, 1, 1].map((axis) => axis / Math.sqrt(3));

const AXES = ['dx', 'dy', 'dz'] as const;

function kindOf(requirement: Accuracy3dOptions): PlaceKind<SpaceFigures> {
  return {
    aspect: 'space',
    axes: AXES,
    factorOfEqualAxes: accuracyInSpaceAt95(EVEN_AXES),
    rmseName: 'RMSE in space',
    lacking: 'a place and a height in the cloud',
    columns: 'cloud_x, cloud_y and cloud_z',
    words: (r) => `${horizontalWords(r)}, ${signedLength(r.dz!)} up`,
    reasonOfMissing: (r) =>
      r.how === 'target'
        ? (r.target?.reason ?? 'target not found')
        : r.dx === null
          ? 'not measured in the cloud, and no target'
          : 'no height in the cloud',
    describe: (used, tested, checks) => describe(used, tested, checks, requirement),
    meanWords: ({ means }) => `${means.map(signedLength).join(', ')} in x, y, z`,
    reasons: () => [],
    views: () => [],
  };
}

interface SpaceFigures extends PlaceFigures {
  /** Mean of each axis. */
  means: number[];
}

function describe(
  used: readonly HorizontalResidual[],
  tested: readonly HorizontalResidual[],
  n: number,
  requirement: Accuracy3dOptions,
): SpaceFigures {
  const columns = AXES.map((axis) => used.map((r) => r[axis]!));
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
  const bounds = rmsBounds(columns);
  // Accuracy at 95 % is so many times the RMSE in space; differences of nothing at all leave it open.
  const factor = accuracyInSpaceAt95(fit > 0 ? parts : EVEN_AXES) / (fit > 0 ? fit : 1);
  const { low, high } = intervalOf(rmse3d, bounds);
  const measured: Record<string, Figure> = {
    n: figure(n, 'count'),
    used: figure(used.length, 'count'),
    rmse3d: figure(rmse3d, 'm'),
    rmse3dLow: figure(low, 'm'),
    rmse3dHigh: figure(high, 'm'),
    normalErrors: figure(bounds.normalErrors, 'share'),
    rmseX: figure(parts[0], 'm'),
    rmseY: figure(parts[1], 'm'),
    rmseH: figure(combineQuadrature(parts[0], parts[1]), 'm'),
    rmseV: figure(parts[2], 'm'),
    rmseFit: figure(fit, 'm'),
    rmseSurvey: figure(survey, 'm'),
    blunders: figure(tested.length - used.length, 'count'),
    class: figure(continuousClass(rmse3d) / 100, 'm'),
    ...(requirement.maxAt95 === undefined ? {} : { at95: figure(factor * rmse3d, 'm') }),
    ...(requirement.maxResidual === undefined ? {} : { largest: figure(max(tested.map((r) => sizeIn(AXES, r))), 'm') }),
  };
  return { rmse: rmse3d, bounds, factor, means: columns.map((values) => mean(values)), measured };
}

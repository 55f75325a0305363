import { length } from '../contract/wording.js';
import { pointCountTables } from '../standards/point-count-tables.js';
import { standardById, standardsFor } from '../standards/registry.js';
import type { Aspect } from '../standards/standard.js';

/** Options of every check of accuracy against check points, besides its limit of the RMSE. */
export interface AccuracyOptions {
  maxRmse?: number;
  maxAt95?: number;
  maxResidual?: number;
  standard?: string;
  pointTable?: keyof typeof pointCountTables;
  layout: 'area' | 'corridor';
}

const AT95: Record<Aspect, string> = {
  vertical: '1.96 times the RMSE of height',
  horizontal:
    'the radius that holds 95 % of normal errors with the RMSE found for the two axes, or by the formula of the standard named',
  space: 'the radius that holds 95 % of normal errors with the RMSE found for the three axes',
};

/** Their fragment of the schema. */
export function accuracySchema(aspect: Aspect) {
  return {
    maxAt95: {
      type: 'number',
      exclusiveMinimum: 0,
      description: `Largest accuracy at 95 % confidence, ${AT95[aspect]}, metres.`,
    },
    maxResidual: {
      type: 'number',
      exclusiveMinimum: 0,
      description: 'Largest residual, outliers included, metres.',
    },
    standard: {
      enum: standardsFor(aspect),
      description: `Standard by which the accuracy is stated in the report, in its own form: ${standardsFor(aspect).join(', ')}. Where it does not add the accuracy of the survey to the RMSE, the RMSE is judged without it.`,
    },
    pointTable: {
      enum: Object.keys(pointCountTables),
      description: `With \`standard\`: table of check points by area to hold their number against, where another than its own is agreed: ${Object.keys(pointCountTables).join(', ')}.`,
    },
    layout: {
      enum: ['area', 'corridor'],
      default: 'area',
      description:
        'With `standard`: the spread of check points is judged by the quadrants of an `area` or by four stretches along a `corridor`.',
    },
  } as const;
}

/** Limits in a sentence: "the RMSE must not exceed 20.0 mm, nor the mean difference 5.0 mm"; those that are not set are left out. */
export function limitSentence(limits: readonly (readonly [string, number | undefined])[]): string {
  const set = limits.flatMap(([what, limit]) => (limit === undefined ? [] : [{ what, limit }]));
  return set
    .map(({ what, limit }, i) =>
      i === 0 ? `${what} must not exceed ${length(limit)}` : `nor ${what} ${length(limit)}`,
    )
    .join(', ');
}

/** By which standard the accuracy is stated, as a sentence to follow others; nothing where none is named. */
export function statedBy({ standard }: AccuracyOptions): string {
  const named = standardById(standard);
  return named === null ? '' : ` The accuracy is stated by ${named.title}.`;
}

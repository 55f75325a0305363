import type { RmsBounds } from '../../geometry/rms-interval.js';
import { horizontalCauses, placementCauses } from '../advice/horizontal-facts.js';
import type { Evidence, JudgeContext, Requirement, Verdict } from '../contract/check.js';
import type { Figure } from '../contract/figure.js';
import type { PlacedValues } from '../contract/placed-values.js';
import { figure, plural, undetermined } from '../contract/wording.js';
import { certainReasons, decideRmse, intervalWords, noneAgrees, noneOf, rmseLimit, rmseWords } from './decision.js';
import {
  type HorizontalResidual,
  horizontalLine,
  horizontalPlace,
  markHorizontalBlunders,
  targetTable,
  wornAdvice,
} from './horizontal-residuals.js';
import type { AccuracyOptions } from './options.js';
import { statementFor } from './statement.js';
import { listPlaces } from './survey-views.js';

/** Options that the checks of places have in common. */
export interface PlaceOptions extends AccuracyOptions {
  minPoints: number;
  blunderFactor: number;
  maxBlunders: number;
}

/** Figures of the used points. Metres. */
export interface PlaceFigures {
  rmse: number;
  bounds: RmsBounds;
  /** Accuracy at 95 % in units of the RMSE. */
  factor: number;
  measured: Record<string, Figure>;
}

/** What the accuracy of places in plan and in space differ in. */
export interface PlaceKind<Figures extends PlaceFigures> {
  aspect: 'horizontal' | 'space';
  axes: readonly ('dx' | 'dy' | 'dz')[];
  /** Accuracy at 95 % in units of the RMSE where all axes are equally accurate. */
  factorOfEqualAxes: number;
  /** "Horizontal RMSE", "RMSE in space". */
  rmseName: string;
  /** What no check point has, with an article: "a place in the cloud". */
  lacking: string;
  /** Columns of the points file that hold what was observed manually in the cloud. */
  columns: string;
  words(r: HorizontalResidual): string;
  /** Why a check point could not be compared. */
  reasonOfMissing(r: HorizontalResidual): string;
  describe(used: readonly HorizontalResidual[], tested: readonly HorizontalResidual[], checks: number): Figures;
  /** The means, in words. */
  meanWords(figures: Figures): string;
  /** Reasons to fail besides the RMSE, single differences and blunders. */
  reasons(figures: Figures): string[];
  /** Views of the residuals, shown before the lists. */
  views(figures: Figures, limit: number): Evidence[];
}

/** The length of a difference in these axes, metres. */
export function sizeIn(axes: readonly ('dx' | 'dy' | 'dz')[], r: HorizontalResidual): number {
  return Math.hypot(...axes.map((axis) => r[axis]!));
}

/** Judges the places of check points: what the accuracy in plan and in space have in common. */
export function judgePlaces<Figures extends PlaceFigures>(
  residuals: readonly HorizontalResidual[],
  kind: PlaceKind<Figures>,
  requirement: Requirement<PlaceOptions>,
  limits: Record<string, Figure>,
  context: JudgeContext,
): Verdict {
  const { axes } = kind;
  const isKnown = (r: HorizontalResidual) => axes.every((axis) => r[axis] !== null);
  const sizeOf = (r: HorizontalResidual) => sizeIn(axes, r);
  const checks = residuals.filter((r) => r.judged);
  const tested = checks.filter(isKnown);
  const target = requirement.maxRmse ?? requirement.maxAt95! / kind.factorOfEqualAxes;
  const perAxis = (requirement.blunderFactor * target) / Math.sqrt(axes.length);
  const blunders = markHorizontalBlunders(tested, {
    dx: perAxis,
    dy: perAxis,
    ...(axes.includes('dz') ? { dz: perAxis } : {}),
  });
  const used = tested.filter((r) => !r.blunder);
  const points = {
    tested: used,
    vegetated: [],
    blunders,
    blundersAccepted: requirement.maxBlunders,
    untested: checks.length - tested.length,
    target,
  };
  const lists = placeLists(kind, { missing: checks.filter((r) => !isKnown(r)), used, blunders, residuals }, context);
  const shown = {
    limits,
    surveyPoints: residuals.map((r) => horizontalLine(r, context)),
    ...statementFor(kind.aspect, requirement, points, context),
  };
  const certain = certainReasons(
    tested.map((r) => ({ id: r.point.id, size: sizeOf(r) })),
    blunders,
    requirement,
  );
  const causes = horizontalCauses(used, blunders, target);
  if (used.length === 0) {
    const counts = { checks: checks.length, tested: tested.length, blunders: blunders.length };
    const none = noneAgrees(counts, certain);
    if (none !== null) return { ...none, ...shown, evidence: lists, causes };
    return undetermined(noneWords(checks, kind.lacking), {
      ...shown,
      evidence: lists,
      measured: { n: figure(checks.length, 'count'), used: figure(0, 'count') },
      advice: [
        `Give ${kind.columns} as measured in the cloud, or mark points with targets and give their kind and size as target and target_size in the points file.`,
      ],
      causes: placementCauses(checks, context),
    });
  }
  const figures = kind.describe(used, tested, checks.length);
  const limit = rmseLimit(requirement, figures.factor);
  const { state, summary } = decideRmse({
    found: `${rmseWords(kind.rmseName, figures.rmse, used.length, requirement, figures.factor)}, mean ${kind.meanWords(figures)}, ${intervalWords(figures.rmse, figures.bounds)}`,
    rmse: figures.rmse,
    bounds: figures.bounds,
    limit,
    used: used.length,
    minPoints: requirement.minPoints,
    guarded: requirement.decision === 'guarded',
    reasons: kind.reasons(figures),
    certain,
  });
  return {
    state,
    summary,
    measured: figures.measured,
    ...shown,
    evidence: [...kind.views(figures, limit), ...lists, ...sizesByPlace(tested, kind, limit)],
    advice: [
      ...(state === 'undetermined'
        ? ['Mark and survey more independent check points, spread over the whole area.']
        : []),
      ...wornAdvice(residuals),
    ],
    causes,
  };
}

/** The sizes of the differences with the places of their check points, blunders among them; none where no RMSE is limited. */
function sizesByPlace<Figures extends PlaceFigures>(
  tested: readonly HorizontalResidual[],
  { axes, rmseName }: PlaceKind<Figures>,
  limit: number,
): PlacedValues[] {
  if (!Number.isFinite(limit)) return [];
  return [
    {
      kind: 'placed-values',
      title: `${rmseName} at check points`,
      statistic: 'rms',
      unit: 'm',
      limit,
      sense: 'at-most',
      cell: 0,
      sets: [
        {
          name: 'cloud minus survey',
          places: { x: tested.map(({ point }) => point.x), y: tested.map(({ point }) => point.y) },
          value: tested.map((r) => sizeIn(axes, r)),
        },
      ],
    },
  ];
}

function noneWords(checks: readonly HorizontalResidual[], lacking: string): string {
  const refused = checks.filter((r) => r.how === 'target' && r.dx === null).length;
  const one = `is without ${lacking}`;
  return `${noneOf(checks.length, { several: `has ${lacking}`, one })}${refused > 0 ? `; ${plural(refused, 'target')} could not be found` : ''}.`;
}

const LARGEST = 5;

function placeLists<Figures extends PlaceFigures>(
  { axes, lacking, words, reasonOfMissing }: PlaceKind<Figures>,
  {
    missing,
    used,
    blunders,
    residuals,
  }: Record<'missing' | 'used' | 'blunders' | 'residuals', readonly HorizontalResidual[]>,
  context: JudgeContext,
): Evidence[] {
  const sizeOf = (r: HorizontalResidual) => sizeIn(axes, r);
  const list = (
    title: string,
    items: readonly HorizontalResidual[],
    note: (r: HorizontalResidual) => string,
  ): Evidence[] => {
    const known = (r: HorizontalResidual) => axes.every((axis) => r[axis] !== null);
    const listed = listPlaces(title, items, (r) => (known(r) ? sizeOf(r) : 0));
    return items.length === 0
      ? []
      : [
          {
            kind: 'locations',
            title: listed.title,
            items: listed.items.map((r) => ({
              ...horizontalPlace(r, note(r), context),
              value: known(r) ? sizeOf(r) : null,
            })),
          },
        ];
  };
  const farthest = [...used]
    .sort((a, b) => sizeOf(b) - sizeOf(a) || (a.point.id < b.point.id ? -1 : 1))
    .slice(0, LARGEST);
  return [
    ...list('Blunders', blunders, (r) => `blunder, ${words(r)}`),
    ...list('Largest differences', farthest, words),
    ...list(`Check points without ${lacking}`, missing, reasonOfMissing),
    ...targetTable(residuals),
  ];
}

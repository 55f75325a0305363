import type { Interval } from '../../geometry/distributions.js';
import type { RmsBounds } from '../../geometry/rms-interval.js';
import type { State, Verdict } from '../contract/check.js';
import { figure, length, plural } from '../contract/wording.js';

/** What an RMSE is judged by. Metres. */
export interface RmseQuestion {
  /** What was found, in words, without a full stop. */
  found: string;
  rmse: number;
  /** What is known of the RMSE from so many errors. */
  bounds: RmsBounds;
  limit: number;
  used: number;
  minPoints: number;
  guarded: boolean;
  /** Other reasons to fail: blunders, a mean that is too large. */
  reasons: readonly string[];
  /** Reasons to fail however few points there are: a single difference beyond its limit. */
  certain?: readonly string[];
}

/** Limits of an RMSE: of the figure itself, and of the accuracy at 95 % confidence that follows from it. Metres. */
export interface RmseLimits {
  maxRmse?: number;
  maxAt95?: number;
}

/** The RMSE that both limits allow, when the accuracy at 95 % is `factor` times the RMSE; infinite where neither is set. */
export function rmseLimit({ maxRmse, maxAt95 }: RmseLimits, factor: number): number {
  return Math.min(maxRmse ?? Number.POSITIVE_INFINITY, (maxAt95 ?? Number.POSITIVE_INFINITY) / factor);
}

/** An RMSE beside its limits, in words: "RMSE 12.0 mm at 30 check points (limit 20.0 mm)". */
export function rmseWords(what: string, rmse: number, used: number, limits: RmseLimits, factor: number): string {
  const { maxRmse, maxAt95 } = limits;
  const own = maxRmse === undefined ? '' : ` (limit ${length(maxRmse)})`;
  const at95 = maxAt95 === undefined ? '' : `, at 95 % ${length(rmse * factor)} (limit ${length(maxAt95)})`;
  return `${what} ${length(rmse)} at ${plural(used, 'check point')}${own}${at95}`;
}

/** A single difference beyond its limit, as a reason to fail; none where it is within, or no limit is set. */
function singleTooLarge(
  differences: readonly { size: number; id: string }[],
  maxResidual: number | undefined,
): string[] {
  if (maxResidual === undefined) return [];
  const beyond = differences.filter(({ size }) => size > maxResidual);
  if (beyond.length === 0) return [];
  const worst = beyond.reduce((a, b) => (b.size > a.size ? b : a));
  const more = beyond.length > 1 ? ` (${beyond.length} points exceed it)` : '';
  return [`the largest difference, ${length(worst.size)} at ${worst.id}, exceeds ${length(maxResidual)}${more}`];
}

/** Names that are written out in a sentence. */
const NAMED = 20;

function someNames(ids: readonly string[]): string {
  return `${ids.slice(0, NAMED).join(', ')}${ids.length > NAMED ? ` and ${ids.length - NAMED} more` : ''}`;
}

/**
 * Reasons to fail however few points are left: more blunders than are accepted, then a single difference beyond its limit.
 * @param tested every check point that was compared, with the size of its difference in metres
 */
export function certainReasons(
  tested: readonly { size: number; id: string }[],
  blunders: readonly { point: { id: string } }[],
  { maxBlunders, maxResidual }: { maxBlunders: number; maxResidual?: number },
): string[] {
  const ids = blunders.map(({ point }) => point.id);
  const tooMany = ids.length > maxBlunders ? [`${plural(ids.length, 'blunder')} (${someNames(ids)})`] : [];
  return [...tooMany, ...singleTooLarge(tested, maxResidual)];
}

/**
 * The failure of check points that were compared and are all blunders.
 * @returns null where nothing was compared, or where there is no certain reason to fail
 */
export function noneAgrees(
  counts: { checks: number; tested: number; blunders: number },
  certain: readonly string[],
): Pick<Verdict, 'state' | 'summary' | 'measured' | 'advice'> | null {
  if (counts.tested === 0 || certain.length === 0) return null;
  return {
    state: 'fail',
    summary: `${counts.tested === 1 ? 'The only check point that could be compared does not agree' : `None of the ${plural(counts.tested, 'check point')} that could be compared agrees`} with the cloud: ${certain.join('; ')}.`,
    measured: {
      n: figure(counts.checks, 'count'),
      used: figure(0, 'count'),
      blunders: figure(counts.blunders, 'count'),
    },
    advice: ['Check that the points file and the cloud have the same coordinate system, axis order and unit.'],
  };
}

/** That no check point served, in words: `words` follows "None of the 12 check points" or "The only check point". */
export function noneOf(checks: number, words: { several: string; one: string }): string {
  if (checks === 0) return 'There is no check point to test';
  return checks === 1
    ? `The only check point ${words.one}`
    : `None of the ${plural(checks, 'check point')} ${words.several}`;
}

/**
 * Verdict on an RMSE. Too few points decide nothing, unless even the lower bound of the RMSE exceeds the limit. A guarded
 * decision passes only if the upper 95 % bound is within the limit, fails only if the lower one is beyond it, and is left
 * open between (rule family of JCGM 106:2012, one-sided bounds of `rmsBounds`).
 */
export function decideRmse(q: RmseQuestion): { state: State; summary: string } {
  const { low, high } = scaled(q.bounds.oneSided, q.rmse);
  const { certain = [] } = q;
  if (q.used < q.minPoints && certain.length > 0)
    return { state: 'fail', summary: `${q.found}: ${certain.join('; ')}.` };
  if (q.used < q.minPoints) {
    if (low > q.limit) {
      return {
        state: 'fail',
        summary: `${q.found}; too few points (${q.minPoints} required), but even the lower bound of the RMSE, ${length(low)}, exceeds the limit.`,
      };
    }
    return {
      state: 'undetermined',
      summary: `${q.found}; only ${q.used} of the ${plural(q.minPoints, 'check point')} required could be used.`,
    };
  }
  const reasons = [...certain, ...q.reasons];
  if (q.guarded) {
    if (low > q.limit) reasons.push(`the lower 95 % bound of the RMSE, ${length(low)}, exceeds the limit`);
    if (reasons.length === 0 && high > q.limit) {
      return {
        state: 'undetermined',
        summary: `${q.found}; the limit lies within the one-sided 95 % bounds ${length(low)} to ${length(high)}, so a guarded decision is not possible.`,
      };
    }
  } else if (q.rmse > q.limit) reasons.push('the RMSE exceeds the limit');
  if (reasons.length === 0) return { state: 'pass', summary: `${q.found}.` };
  return { state: 'fail', summary: `${q.found}: ${reasons.join('; ')}.` };
}

/** Two-sided 95 % interval of an RMSE, in its unit. */
export function intervalOf(rmse: number, bounds: RmsBounds): Interval {
  return scaled(bounds.interval, rmse);
}

/** The interval and what it supposes, in words: "95 % interval 9.6 mm to 16.0 mm (normal errors)". */
export function intervalWords(rmse: number, bounds: RmsBounds): string {
  const { low, high } = intervalOf(rmse, bounds);
  const law = bounds.law === 'normal' ? 'normal errors' : 'heavy tails not ruled out';
  return `95 % interval ${length(low)} to ${length(high)} (${law})`;
}

function scaled({ low, high }: Interval, rmse: number): Interval {
  return { low: low * rmse, high: high * rmse };
}

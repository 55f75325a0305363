import { passLabel } from '../../delivery/delivery.js';
import { rmseLowerBound, rmseUpperBound } from '../../geometry/distributions.js';
import { momentFreedom } from '../../geometry/rms-interval.js';
import { percentile } from '../../geometry/statistics.js';
import type { PassPair } from '../../measure/pass-pairs.js';
import type { HorizontalShiftCell } from '../../measure/planes/shift-cells.js';
import type { JudgeContext, Requirement, State } from '../contract/check.js';
import { COVERAGE } from '../contract/coverage-factor.js';
import { area, length, percent, plural } from '../contract/wording.js';
import type { PassAgreementOptions } from './agreement-options.js';
import { comparedShareOf } from './compared-share.js';
import { horizontalOf, partlySeenWords } from './direction-words.js';

/** One pass pair against the limits. */
export interface JudgedPair {
  pair: PassPair;
  name: string;
  state: State;
  /** Largest ratio of a figure to its limit. */
  excess: number;
  text: string;
}

/** Holds the figures of a pass pair against the limits of a requirement. */
export function judgePair(pair: PassPair, r: Requirement<PassAgreementOptions>, context: JudgeContext): JudgedPair {
  const name = `${passLabel(context.delivery, pair.a)} and ${passLabel(context.delivery, pair.b)}`;
  const parts: string[] = [];
  let state: State = 'pass';
  let excess = 0;
  const guarded = r.decision === 'guarded';
  const hold = (value: number | null, limit: number | undefined, label: string, margin = 0) => {
    if (limit === undefined) return;
    if (value === null) {
      state = state === 'fail' ? state : 'undetermined';
      parts.push(`${label} cannot be determined`);
      return;
    }
    const guard = guarded ? margin : 0;
    excess = Math.max(excess, value / limit);
    parts.push(`${label} ${length(value)} (limit ${length(limit)})`);
    if (value - guard > limit) state = 'fail';
    else if (value + guard > limit && state !== 'fail') {
      state = 'undetermined';
      parts.push(`the limit lies within ${COVERAGE} standard deviations, ${length(guard)}`);
    }
  };
  hold(pair.rmsDz, r.maxRmsDz, 'RMS height difference', guarded ? marginOfRms(pair) : 0);
  hold(pair.p95Dz, r.maxP95Dz, '95th percentile of the height differences');
  hold(pair.maxDz, r.maxDz, 'largest height difference');
  const std = Math.max(0, ...pair.directions.map((d) => d.std));
  hold(pair.shiftLength, r.maxShift, 'shift', COVERAGE * std);
  const plan = planShiftOf(pair);
  hold(plan?.length ?? null, r.maxPlanShift, 'shift in plan', COVERAGE * (plan?.std ?? 0));
  const axis = axisShiftOf(pair);
  hold(axis?.length ?? null, r.maxAxisShift, 'shift along an axis', COVERAGE * (axis?.std ?? 0));
  const stretches = pair.stretches ?? [];
  const offsets = planOffsetsOf(pair);
  hold(offsets?.p95 ?? null, r.maxP95Plan, '95th percentile of the differences in plan');
  hold(
    offsets?.largest.offset ?? null,
    r.maxPlan,
    'largest difference in plan',
    COVERAGE * (offsets?.largest.std ?? 0),
  );
  if (offsets !== null) {
    const whole = stretches.filter((square) => square.whole).length;
    parts.push(`known in ${plural(stretches.length, 'square')}, in both directions of the plan in ${whole}`);
    // A square that shows one direction may lie far off in the other.
    if (2 * whole < stretches.length && state === 'pass') state = 'undetermined';
  }
  const space = r.maxShift ?? r.maxAxisShift;
  const axes = space !== undefined ? ['x', 'y', 'z'] : r.maxPlanShift !== undefined ? ['x', 'y'] : [];
  if (axes.some((_, k) => !pair.observable[k]) && pair.shiftLength !== null) {
    for (const one of partlySeenWords(pair)) parts.push(one);
    if (state === 'pass') state = 'undetermined';
  }
  const share = comparedShareOf(pair) ?? 0;
  if (share < r.minComparedShare) {
    const asked = `at least ${percent(r.minComparedShare)} required`;
    parts.push(`compared on ${percent(share)} of the ${area(pair.overlapArea)} that both have seen (${asked})`);
    if (state === 'pass') state = 'undetermined';
  }
  return { pair, name, state, excess, text: `Between ${name}: ${parts.join(', ')}` };
}

/**
 * Half width of the interval of an RMS. The voxels cover the compared ground once, because the lattice in which a level surface is cut off at a
 * face shows no plane there: the voxels of a street cover 494 of 506 m2. So each counts by itself, and fewer where tails are heavy.
 */
function marginOfRms({ rmsDz, cells, map }: PassPair): number {
  if (rmsDz === null || cells < 2) return 0;
  const freedom = Math.min(cells, momentFreedom([map.dz]));
  return Math.max(rmseUpperBound(rmsDz, freedom) - rmsDz, rmsDz - rmseLowerBound(rmsDz, freedom));
}

/**
 * The part of the horizontal shift that can be seen, and its standard deviation; null where none can. Where one direction is hidden it is the
 * shift along the other, and the whole is at least as long.
 */
export function planShiftOf(pair: PassPair): { length: number; std: number } | null {
  const { shift, shiftStd } = pair;
  if (shift[0] !== null && shift[1] !== null) {
    return { length: Math.hypot(shift[0], shift[1]), std: Math.max(shiftStd[0] ?? 0, shiftStd[1] ?? 0) };
  }
  const seen = horizontalOf(pair);
  const along = [0, 1].filter((k) => shift[k] !== null);
  const parts = [
    ...(seen.length > 0
      ? [{ length: Math.hypot(...seen.map((d) => d.distance)), std: Math.max(...seen.map((d) => d.std)) }]
      : []),
    ...along.map((k) => ({ length: Math.abs(shift[k]!), std: shiftStd[k] ?? 0 })),
  ];
  return parts.length === 0 ? null : parts.reduce((a, b) => (b.length > a.length ? b : a));
}

/** The differences in plan, square by square, in two figures; null when no square shows any. */
export function planOffsetsOf({ stretches = [] }: PassPair): { p95: number; largest: HorizontalShiftCell } | null {
  if (stretches.length === 0) return null;
  return {
    p95: percentile(
      stretches.map(({ offset }) => offset),
      95,
    ),
    largest: stretches.reduce((a, b) => (b.offset > a.offset ? b : a)),
  };
}

/**
 * The largest shift along an axis that is proven, and its standard deviation; null when none is. A direction d that is seen
 * proves one where its axes are hidden: with every axis at most s, the shift along d is at most s (|dx| + |dy| + |dz|).
 */
export function axisShiftOf({ shift, shiftStd, directions }: PassPair): { length: number; std: number } | null {
  const axes = [0, 1, 2]
    .filter((k) => shift[k] !== null)
    .map((k) => ({ length: Math.abs(shift[k]!), std: shiftStd[k] ?? 0 }));
  const hidden = axes.length === 3 ? [] : directions;
  const proven = hidden.map(({ direction, distance, std }) => {
    const sum = direction.reduce((total, part) => total + Math.abs(part), 0);
    return { length: Math.abs(distance) / sum, std: std / sum };
  });
  const all = [...axes, ...proven];
  return all.length === 0 ? null : all.reduce((a, b) => (b.length > a.length ? b : a));
}

import { figure, signedLength } from '../contract/wording.js';
import type { Advice, AdviceRule, DriftFacts } from './rule.js';

/** Seconds of a gap that may be an outage. */
const LEAST_GAP = 2;
const SIGNIFICANT = 3;
/** A drift begins at the gap when it is at least this share of the steepest one, and before there was hardly any of it. */
const SHARE = 0.5;
const BEFORE = 0.35;

/** What follows a gap of time: a step over it, or a drift from its end on; null for neither. */
export function afterGap({ steps, slope, gaps }: DriftFacts) {
  const step = steps.filter((s) => s.gap > 0).sort((p, q) => Math.abs(q.step) - Math.abs(p.step))[0];
  if (step) return { step, drift: null, gap: null };
  if (slope === null) return null;
  for (const gap of gaps) {
    const { before, after } = gap;
    if (gap.to - gap.from < LEAST_GAP || after === null) continue;
    if (Math.abs(after.value) <= SIGNIFICANT * after.std || Math.abs(after.value) < SHARE * Math.abs(slope.slope))
      continue;
    if (before !== null && Math.abs(before.value) > BEFORE * Math.abs(after.value)) continue;
    return { step: null, drift: after, gap };
  }
  return null;
}

export const satelliteOutage: AdviceRule<'drift'> = {
  id: 'satellite-outage',
  title: 'a satellite outage',
  why: 'Without satellites a trajectory drifts on its inertial sensors alone and re-converges to a different solution.',
  sources: [{ standard: 'common practice', note: 'a step over a gap of time, or a drift that begins at its end' }],
  reads: 'drift',

  advise(facts): Advice | null {
    const found = afterGap(facts);
    if (!found) return null;
    const { pass } = facts;
    if (found.step) {
      const { at, gap, step } = found.step;
      return {
        text: `${pass} comes back ${signedLength(step)} different after ${gap.toFixed(1)} s: look at the satellite reception and the alignment before GPS time ${at.toFixed(1)} s, and process that drive again.`,
        figures: { step: figure(step, 'm'), gap: figure(gap, 's'), at: figure(at, 's') },
      };
    }
    const { drift, gap } = found;
    const slope = drift.value * 60_000;
    return {
      text: `${pass} begins to drift by ${slope.toFixed(1)} mm a minute at GPS time ${gap.to.toFixed(1)} s, after a gap of ${(gap.to - gap.from).toFixed(1)} s: look at the satellite reception and the alignment there, and process that drive again.`,
      figures: {
        slope: figure(slope, 'mm/min'),
        gap: figure(gap.to - gap.from, 's'),
        at: figure(gap.to, 's'),
      },
    };
  },
};

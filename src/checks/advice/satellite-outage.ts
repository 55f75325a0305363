import { figure, signedLength } from '../wording.js';
import type { Advice, AdviceRule, DriftFacts } from './rule.js';

/** Seconds of a gap that may be an outage, and how soon after it a drift must begin. */
const LEAST_GAP = 2;
const SOON = 5;
const SIGNIFICANT = 3;

/** What follows a gap of time: a step over it, or a drift from its end on; null for neither. */
export function afterGap({ steps, slope, gaps }: DriftFacts) {
  const step = steps.filter((s) => s.gap > 0).sort((p, q) => Math.abs(q.step) - Math.abs(p.step))[0];
  if (step) return { step, drift: null, gap: null };
  if (slope === null || Math.abs(slope.slope) <= SIGNIFICANT * slope.std) return null;
  const gap = gaps.find((g) => g.to - g.from >= LEAST_GAP && slope.from >= g.to && slope.from - g.to <= SOON);
  return gap ? { step: null, drift: slope, gap } : null;
}

export const satelliteOutage: AdviceRule<'drift'> = {
  id: 'satellite-outage',
  title: 'a satellite outage',
  why: 'Without satellites a trajectory drifts on its inertial sensors alone and comes back different.',
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
    const slope = drift.slope * 60_000;
    return {
      text: `${pass} begins to drift by ${slope.toFixed(1)} mm a minute at GPS time ${drift.from.toFixed(1)} s, just after a gap of ${(gap.to - gap.from).toFixed(1)} s: look at the satellite reception and the alignment there, and process that drive again.`,
      figures: {
        slope: figure(slope, 'mm/min'),
        gap: figure(gap.to - gap.from, 's'),
        at: figure(drift.from, 's'),
      },
    };
  },
};

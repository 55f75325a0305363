import { figure } from '../contract/wording.js';
import type { AdviceRule } from './rule.js';
import { afterGap } from './satellite-outage.js';

export const trajectoryDrift: AdviceRule<'drift'> = {
  id: 'trajectory-drift',
  title: 'trajectory error at the GPS times listed',
  why: 'A pass that drifts or jumps while it is seen without a break has an error of its trajectory, not of its scanner.',
  sources: [{ standard: 'common practice' }],
  reads: 'drift',

  advise(facts) {
    if (afterGap(facts)) return null;
    const { pass, slope, steps } = facts;
    const figures = {
      ...(slope ? { slope: figure(slope.slope * 60_000, 'mm/min'), from: figure(slope.from, 's') } : {}),
      steps: figure(steps.length, 'count'),
    };
    return {
      text: `Look at the trajectory of ${pass} around the GPS times listed. Typical causes: loss of GNSS lock, an incorrect ambiguity fix, a lever-arm error or wheel-sensor slip.`,
      figures,
    };
  },
};

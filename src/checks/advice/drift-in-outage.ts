import { figure, signedLength } from '../contract/wording.js';
import type { Advice, AdviceRule } from './rule.js';

/** Standard deviations from which an offset is no chance. */
const SIGNIFICANT = 3;

export const driftInOutage: AdviceRule<'outage'> = {
  id: 'drift-in-outage',
  title: 'a pass that leaves the others while its position is not fixed',
  why: 'Where the height of a pass differs from the others during a loss of fixed position, the trajectory drifted in it.',
  sources: [
    { standard: 'common practice', note: 'height differences of passes on level surfaces in the time of the loss' },
  ],
  reads: 'outage',

  advise({ pass, start, seconds, bins }): Advice | null {
    const clear = bins.filter(({ offset, std }) => Math.abs(offset) > SIGNIFICANT * std);
    if (clear.length === 0) return null;
    const worst = clear.reduce((a, b) => (Math.abs(b.offset) > Math.abs(a.offset) ? b : a));
    return {
      text: `In the ${seconds.toFixed(1)} s without fixed position from GPS time ${start.toFixed(1)} s, ${pass} is ${signedLength(worst.offset)} against the other passes at ${worst.at.toFixed(1)} s.`,
      figures: { offset: figure(worst.offset, 'm'), at: figure(worst.at, 's') },
    };
  },
};

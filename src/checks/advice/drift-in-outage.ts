import { figure, signedLength } from '../contract/wording.js';
import type { Advice, AdviceRule } from './rule.js';

/** Standard deviations from which an offset is no chance. */
const SIGNIFICANT = 3;
/** Smaller changes are within what passes differ by anyhow, metres. */
const LEAST_CHANGE = 0.003;

export const driftInOutage: AdviceRule<'outage'> = {
  id: 'drift-in-outage',
  title: 'a pass that leaves the others while its position is not fixed',
  why: 'Where the height of a pass differs from the others during a loss of fixed position, the trajectory drifted in it.',
  sources: [
    { standard: 'common practice', note: 'height differences of passes on level surfaces in the time of the loss' },
  ],
  reads: 'outage',

  advise({ pass, start, seconds, bins, usual }): Advice | null {
    // A pass that lies apart everywhere is shifted, which is no effect of the loss.
    if (usual === null) return null;
    const change = ({ offset }: { offset: number }) => Math.abs(offset - usual);
    const clear = bins.filter((bin) => change(bin) > Math.max(SIGNIFICANT * bin.std, LEAST_CHANGE));
    if (clear.length === 0) return null;
    const worst = clear.reduce((a, b) => (change(b) > change(a) ? b : a));
    return {
      text: `In the ${seconds.toFixed(1)} s without fixed position from GPS time ${start.toFixed(1)} s, ${pass} is ${signedLength(worst.offset)} against the other passes at ${worst.at.toFixed(1)} s, and ${signedLength(usual)} outside that time.`,
      figures: { offset: figure(worst.offset, 'm'), at: figure(worst.at, 's') },
    };
  },
};

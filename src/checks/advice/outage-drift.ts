import { figure, signedLength } from '../contract/wording.js';
import type { AdviceRule } from './rule.js';
import { axisWords } from './vehicle-words.js';

const SIGNIFICANT = 3;
/** What a pass may show beside the outage, as a share of what it shows in it. */
const BESIDE = 0.35;

export const outageDrift: AdviceRule<'vehicleDrift'> = {
  id: 'outage-drift',
  title: 'drift of the trajectory during a satellite outage',
  why: 'Without satellites the error of position grows; when they are back it ends. A drift that begins and ends with an outage comes from it.',
  sources: [
    {
      standard: 'Korea, rules for HD road maps, notice 2023-4338',
      clause: 'annex 2.2',
      note: 'an error while on inertial sensors and odometer only is systematic and corrected with control points (read)',
    },
    { standard: 'common practice', note: 'offsets within the outage against those of the minute before and after it' },
  ],
  reads: 'vehicleDrift',

  advise({ pass, limit, outages, outside }) {
    const found = outages
      .filter(({ peak, before, after, axis }) => {
        const size = Math.abs(peak.value);
        if (size <= limit || size <= SIGNIFICANT * peak.std) return false;
        if (before === null && after === null) return false;
        if ([before, after].some((beside) => Math.abs(beside ?? 0) > BESIDE * size)) return false;
        return outside[axis] <= size;
      })
      .sort((a, b) => Math.abs(b.peak.value) - Math.abs(a.peak.value));
    if (found.length === 0) return null;
    const [{ from, to, axis, peak }] = found;
    return {
      text: `${pass} drifts by up to ${signedLength(peak.value)} ${axisWords(axis)} while it had no satellites, from GPS time ${from.toFixed(1)} s to ${to.toFixed(1)} s (${(to - from).toFixed(1)} s), and not before or after: correct that part with control points there, or drive it again.`,
      figures: {
        offset: figure(peak.value, 'm'),
        std: figure(peak.std, 'm'),
        from: figure(from, 's'),
        to: figure(to, 's'),
        outage: figure(to - from, 's'),
      },
    };
  },
};

import { figure, length, plural } from '../contract/wording.js';
import type { AdviceRule } from './rule.js';

const SIGNIFICANT = 3;

export const rangeGrowth: AdviceRule<'passes'> = {
  id: 'range-growth',
  title: 'an error that grows with the distance from the vehicle',
  why: 'Errors of the trajectory are the same near and far; those of angles and of ranging grow with the distance.',
  sources: [
    {
      standard: 'common practice',
      note: 'height differences against the difference of the distances from both tracks, least squares, three standard deviations',
    },
  ],
  reads: 'passes',

  advise({ pairs, limit }) {
    const known = pairs.filter(
      ({ range }) =>
        range !== null &&
        Math.abs(range.value) > SIGNIFICANT * range.std &&
        Math.abs(range.value) * range.farthest > limit / 2,
    );
    const seen = pairs.filter(({ range }) => range !== null);
    // One sense in every pair that can tell: a pass that is merely tilted shows either sense.
    if (known.length === 0 || known.length < seen.length) return null;
    if (!known.every(({ range }) => Math.sign(range!.value) === Math.sign(known[0].range!.value))) return null;
    const slope = known.reduce((sum, { range }) => sum + range!.value, 0) / known.length;
    const farthest = known.reduce((most, { range }) => Math.max(most, range!.farthest), 0);
    return {
      text: `Heights ${slope > 0 ? 'rise' : 'fall'} with the distance from the vehicle's track by ${length(Math.abs(slope) * 10)} in 10 m (${plural(known.length, 'pair')}, out to ${farthest.toFixed(1)} m): look at the angle encoder and the ranging of the scanner, its mounting angles and the refraction or range correction; near the track nothing may show.`,
      figures: {
        metresPerMetre: figure(slope, 'ratio'),
        farthest: figure(farthest, 'm'),
        pairs: figure(known.length, 'count'),
      },
    };
  },
};

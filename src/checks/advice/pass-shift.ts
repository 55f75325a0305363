import { figure, plural, signedLength } from '../contract/wording.js';
import type { AdviceRule, PairFacts } from './rule.js';

/** A difference is not constant where its range exceeds this share of the mean, and the limit. */
const SHARE = 0.5;

export const passShift: AdviceRule<'passes'> = {
  id: 'pass-shift',
  title: 'trajectories not adjusted relative to each other',
  why: 'Where two passes show the same surfaces at a constant distance, one of their trajectories is off by that distance; where the distance changes from place to place, no constant shift repairs it.',
  sources: [
    {
      standard: 'common practice',
      note: '3D shift by least squares of distances between planes; medians of the height difference in squares of 10 m',
    },
  ],
  reads: 'passes',

  advise({ pairs, worst, limit }) {
    const pair = pairs[worst];
    const { a, b, failing, shift } = pair;
    const known = shift.flatMap((v, axis) => (v === null ? [] : [`${signedLength(v)} in ${'xyz'[axis]}`]));
    if (!failing || known.length === 0) return null;
    const named = shift.flatMap((v, axis) => (v === null ? [] : [['xyz'[axis], figure(v, 'm')] as const]));
    const figures = Object.fromEntries(named);
    const changing = changingHeight(pair, limit);
    if (!changing)
      return {
        text: `${b} lies ${known.join(', ')} from ${a}: apply the opposite shift, or adjust both trajectories to common control.`,
        figures,
      };
    const { least, most, squares } = changing;
    return {
      text: `${b} lies ${known.join(', ')} from ${a} on average, but its height difference changes from ${signedLength(least)} to ${signedLength(most)} between ${plural(squares, 'place')}: a constant shift does not repair that. Look at how the difference changes along GPS time (check pass-drift), and process the trajectories again.`,
      figures: { ...figures, least: figure(least, 'm'), most: figure(most, 'm'), squares: figure(squares, 'count') },
    };
  },
};

/** The variation of the height difference where it is too large for a constant shift; null otherwise. */
function changingHeight({ variation, meanDz }: PairFacts, limit: number) {
  if (variation === null) return null;
  const range = variation.most - variation.least;
  return range > Math.max(limit, SHARE * Math.abs(meanDz ?? 0)) ? variation : null;
}

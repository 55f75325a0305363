import { figure, signedLength } from '../contract/wording.js';
import type { AdviceRule } from './rule.js';

export const passShift: AdviceRule<'passes'> = {
  id: 'pass-shift',
  title: 'two trajectories that were not adjusted to one another',
  why: 'Where two passes show the same surfaces at a constant distance, one of their trajectories is off by that distance.',
  sources: [{ standard: 'common practice', note: '3D shift by least squares of distances between planes' }],
  reads: 'passes',

  advise({ pairs, worst }) {
    const { a, b, failing, shift } = pairs[worst];
    const known = shift.flatMap((v, axis) => (v === null ? [] : [`${signedLength(v)} in ${'xyz'[axis]}`]));
    if (!failing || known.length === 0) return null;
    const named = shift.flatMap((v, axis) => (v === null ? [] : [['xyz'[axis], figure(v, 'm')] as const]));
    return {
      text: `${b} lies ${known.join(', ')} from ${a}: move it by the opposite, or adjust both trajectories to common control.`,
      figures: Object.fromEntries(named),
    };
  },
};

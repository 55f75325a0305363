import { figure, length } from '../contract/wording.js';
import type { AdviceRule } from './rule.js';

export const grossShift: AdviceRule<'passes'> = {
  id: 'gross-shift',
  title: 'a wrong datum or unit, or a lost correction',
  why: 'Drift and mounting errors move a pass by millimetres to decimetres; more than that is another system or a lost correction.',
  sources: [{ standard: 'common practice' }],
  reads: 'passes',

  advise({ pairs, worst }) {
    const { a, b, gross } = pairs[worst];
    const size = Math.hypot(...gross);
    if (!(size > 0)) return null;
    return {
      text: `${a} and ${b} are shifted by some ${length(size)}, more than the size of a voxel: look for a wrong datum, a wrong unit or a lost correction before anything else.`,
      figures: { gross: figure(size, 'm') },
    };
  },
};

import { figure, length, plural, signedLength } from '../contract/wording.js';
import type { AdviceRule } from './rule.js';

const SIGNIFICANT = 3;

export const scannerHeads: AdviceRule<'passes'> = {
  id: 'scanner-heads',
  title: 'the mounting of two scanner heads against each other',
  why: 'Both scanner heads share one trajectory: a constant distance between what they see is an error of their boresight angles or lever arms.',
  sources: [{ standard: 'common practice', note: 'three standard deviations of the shift' }],
  reads: 'passes',

  advise({ pairs, worst }) {
    const pair = pairs[worst];
    if (!pair.heads || !pair.failing || pair.length === null) return null;
    if (pair.length <= SIGNIFICANT * pair.std) return null;
    const axes = pair.shift.flatMap((v, axis) => (v === null ? [] : [`${signedLength(v)} in ${'xyz'[axis]}`]));
    return {
      text: `${pair.a} and ${pair.b} lie ${length(pair.length)} apart everywhere${axes.length > 0 ? ` (${axes.join(', ')})` : ''}, standard deviation ${length(pair.std)} from ${plural(pair.cells, 'level voxel')}: calibrate the mounting angles and offsets of the heads against each other again; the trajectory is the same for both.`,
      figures: {
        shift: figure(pair.length, 'm'),
        std: figure(pair.std, 'm'),
        cells: figure(pair.cells, 'count'),
      },
    };
  },
};

import { figure, length, plural, signedLength } from '../contract/wording.js';
import type { AdviceRule, PairFacts } from './rule.js';

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
    const mounted = mountingWords(pair);
    if (pair.length <= SIGNIFICANT * pair.std && mounted.text === '') return null;
    const axes = pair.shift.flatMap((v, axis) => (v === null ? [] : [`${signedLength(v)} in ${'xyz'[axis]}`]));
    return {
      text: `${pair.a} and ${pair.b} lie ${length(pair.length)} apart everywhere${axes.length > 0 ? ` (${axes.join(', ')})` : ''}, standard deviation ${length(pair.std)} from ${plural(pair.cells, 'level voxel')}: calibrate the mounting angles and offsets of the heads against each other again; the trajectory is the same for both.${mounted.text}`,
      figures: {
        shift: figure(pair.length, 'm'),
        std: figure(pair.std, 'm'),
        cells: figure(pair.cells, 'count'),
        ...mounted.figures,
      },
    };
  },
};

/** What stands out of the mounting in the frame of the vehicle, in words and figures; nothing where it is not known. */
function mountingWords({ mounting, b }: PairFacts) {
  const figures: Record<string, ReturnType<typeof figure>> = {};
  const words: string[] = [];
  for (const [axis, found] of Object.entries(mounting ?? {})) {
    if (found === null || Math.abs(found.value) <= SIGNIFICANT * found.std) continue;
    const angle = ANGLES.includes(axis);
    figures[axis] = figure(found.value, angle ? 'degree' : 'm');
    words.push(
      angle
        ? `${axis} ${found.value.toFixed(4)} degrees (standard deviation ${found.std.toFixed(4)})`
        : `${signedLength(found.value)} ${axis} (${length(found.std)})`,
    );
  }
  const text =
    words.length === 0
      ? ''
      : ` In the frame of the vehicle, as if all of it were an error of ${b}: ${words.join(', ')}.`;
  return { text, figures };
}

const ANGLES = ['roll', 'pitch', 'heading'];

import { figure, length, plural } from '../contract/wording.js';
import type { AdviceRule } from './rule.js';

const LEAST_OTHERS = 4;

export const singleBlunder: AdviceRule<'blunders'> = {
  id: 'single-blunder',
  title: 'the survey of one point',
  why: 'One point that stands out while all others agree speaks against the point, not against the cloud.',
  sources: [
    {
      standard: 'ASPRS Positional Accuracy Standards, Edition 2',
      clause: '7.2',
      note: 'errors above three times the RMSE asked for are to be investigated',
    },
    { standard: 'common practice', note: 'one point in five or more' },
  ],
  reads: 'blunders',

  advise({ blunders, others, spread }) {
    if (blunders.length !== 1 || others < LEAST_OTHERS) return null;
    const [{ id, size }] = blunders;
    return {
      text: `Only ${id} stands out, by ${length(size)}, while the other ${plural(others, 'point')} scatter by ${length(spread)}: look at this point itself first (mixed-up name, wrong mark or target height, something standing on it, moved since), and measure it again before it is left out.`,
      figures: { size: figure(size, 'm'), others: figure(others, 'count'), spread: figure(spread, 'm') },
    };
  },
};

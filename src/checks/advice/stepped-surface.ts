import { figure, length } from '../contract/wording.js';
import type { AdviceRule } from './rule.js';

export const steppedSurface: AdviceRule<'surface'> = {
  id: 'stepped-surface',
  title: 'steps or waves within one pass',
  why: 'Neighbouring patches of a smooth surface at different heights within a pass come from a jump or from banding.',
  sources: [{ standard: 'common practice' }],
  reads: 'surface',

  advise({ pass, range, maxRange }) {
    if (range === null || maxRange === null || range <= maxRange) return null;
    return {
      text: `Smooth surfaces show steps or waves of ${length(range)} within ${pass}: look at the named places for a jump of the trajectory or banding between scan lines; name a zone of hard smooth ground if they are kerbs or plants.`,
      figures: { range: figure(range, 'm') },
    };
  },
};

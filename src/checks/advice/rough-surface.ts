import { figure, length } from '../contract/wording.js';
import type { AdviceRule } from './rule.js';

export const roughSurface: AdviceRule<'surface'> = {
  id: 'rough-surface',
  title: 'scatter within one pass',
  why: 'Scatter about smooth surfaces within a pass is noise, or two surfaces that were taken for one.',
  sources: [{ standard: 'common practice' }],
  reads: 'surface',

  advise({ pass, rms, maxRms }) {
    if (rms === null || maxRms === null || rms <= maxRms) return null;
    return {
      text: `Points of ${pass} scatter by ${length(rms)} about smooth surfaces: look for two scanner heads that do not agree, for places driven over twice in one pass, for a rough trajectory, or for wet and dark surfaces at long range.`,
      figures: { rms: figure(rms, 'm') },
    };
  },
};

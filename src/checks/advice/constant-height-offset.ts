import { mean, standardDeviation } from '../../geometry/statistics.js';
import { figure, length, plural } from '../contract/wording.js';
import { unitMismatch } from './height-unit.js';
import { passApart } from './one-pass-height.js';
import type { AdviceRule } from './rule.js';

/** Share of the limit at which a mean asks for a look, and standard errors at which it is no chance. */
const ALARM = 0.25;
const SIGNIFICANT = 3;

export const constantHeightOffset: AdviceRule<'heights'> = {
  id: 'constant-height-offset',
  title: 'an error common to all heights',
  why: 'A wrong geoid model, antenna height or height system moves every height by the same amount.',
  sources: [
    {
      standard: 'ASPRS Positional Accuracy Standards, Edition 2',
      clause: '7.2',
      note: 'a mean error above a quarter of the RMSE asked for is to be investigated',
    },
    { standard: 'common practice', note: 'three standard errors; the list of causes' },
  ],
  reads: 'heights',

  advise(facts) {
    const dz = facts.points.filter((p) => !p.blunder).map((p) => p.dz);
    if (dz.length < 3 || unitMismatch(facts) || passApart(facts)) return null;
    const [offset, spread] = [mean(dz), standardDeviation(dz)];
    if (Math.abs(offset) <= ALARM * facts.limit) return null;
    if (Math.abs(offset) <= (SIGNIFICANT * spread) / Math.sqrt(dz.length)) return null;
    return {
      text: `The cloud lies ${length(Math.abs(offset))} ${offset > 0 ? 'above' : 'below'} the check points on average (${plural(dz.length, 'point')}, standard deviation ${length(spread)}), more than a quarter of the limit: look for a common cause such as the geoid model, the height of an antenna or of the targets, or another height system.`,
      figures: { mean: figure(offset, 'm'), std: figure(spread, 'm'), points: figure(dz.length, 'count') },
    };
  },
};

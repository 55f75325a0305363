import { figure, length, plural } from '../contract/wording.js';
import type { AdviceRule } from './rule.js';

export const onePassShifted: AdviceRule<'passes'> = {
  id: 'one-pass-shifted',
  title: 'the trajectory of one pass',
  why: 'With three passes and more, the one that differs from all others, which agree, is the one to look at.',
  sources: [{ standard: 'common practice', note: 'every pair with the pass exceeds a limit, no other pair does' }],
  reads: 'passes',

  advise({ pairs }) {
    const failing = pairs.filter((p) => p.failing);
    const passes = [...new Set(pairs.flatMap(({ a, b }) => [a, b]))];
    const culprits = passes.filter((pass) => {
      const own = pairs.filter((p) => p.a === pass || p.b === pass);
      return own.length >= 2 && own.every((p) => p.failing) && failing.every((p) => own.includes(p));
    });
    // Of two pairs a - b and b - c alone nothing shows that b is off; that needs the pair a - c to agree.
    if (culprits.length !== 1 || pairs.length === failing.length) return null;
    const [pass] = culprits;
    const sizes = failing.map((p) => p.length ?? Math.abs(p.meanDz ?? 0));
    const least = sizes.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
    const most = sizes.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
    return {
      text: `${pass} differs from all ${failing.length} others it meets, by ${length(least)} to ${length(most)}, while ${plural(pairs.length - failing.length, 'pair')} without it ${pairs.length - failing.length === 1 ? 'agrees' : 'agree'}: look at the ${pairs.every(({ heads }) => heads) ? 'mounting of that scanner' : 'trajectory of that pass'} first.`,
      figures: {
        least: figure(least, 'm'),
        most: figure(most, 'm'),
        pairs: figure(failing.length, 'count'),
      },
    };
  },
};

import { median, nmad } from '../../geometry/statistics.js';
import { figure, plural, signedLength } from '../contract/wording.js';
import type { AdviceRule, HeightFacts } from './rule.js';

const LEAST_POINTS = 3;
/** Share of the limit by which a pass must differ from the others, and standard errors. */
const APART = 0.5;
const SIGNIFICANT = 3;

interface Apart {
  pass: string;
  offset: number;
  others: number;
  /** Check points that saw the pass. */
  points: number;
  passes: number;
}

/**
 * The one pass that lies off the check points while the others lie close to one another and to the points; null where there is no
 * such pass. Medians, so that a single bad point changes little.
 */
export function passApart({ points, limit }: HeightFacts): Apart | null {
  const byPass = new Map<string, number[]>();
  for (const { perPass, blunder } of points) {
    if (blunder) continue;
    for (const { pass, dz } of perPass) {
      const known = byPass.get(pass);
      if (known) known.push(dz);
      else byPass.set(pass, [dz]);
    }
  }
  const passes = [...byPass.entries()]
    .filter(([, dz]) => dz.length >= LEAST_POINTS)
    .map(([pass, dz]) => ({ pass, middle: median(dz), error: nmad(dz) / Math.sqrt(dz.length), n: dz.length }))
    .sort((a, b) => Math.abs(b.middle) - Math.abs(a.middle));
  if (passes.length < 2) return null;
  const [worst, ...rest] = passes;
  const others = median(rest.map((p) => p.middle));
  const apart = Math.abs(worst.middle - others);
  if (apart <= APART * limit) return null;
  if (apart <= SIGNIFICANT * Math.hypot(worst.error, ...rest.map((p) => p.error / rest.length))) return null;
  // The others must agree with one another, and be nearer to the points than half of what sets the one apart.
  if (rest.some((p) => Math.abs(p.middle - others) > apart / 3) || Math.abs(others) > apart / 2) return null;
  return { pass: worst.pass, offset: worst.middle, others, points: worst.n, passes: passes.length };
}

export const onePassHeight: AdviceRule<'heights'> = {
  id: 'one-pass-height',
  title: 'the height of one pass',
  why: 'An error of the whole survey moves all passes; where only one lies off the check points, its own trajectory is at fault.',
  sources: [{ standard: 'common practice', note: 'median of the differences of each pass, three standard errors' }],
  reads: 'heights',

  advise(facts) {
    const found = passApart(facts);
    if (!found) return null;
    const { pass, offset, others, points, passes } = found;
    return {
      text: `Only ${pass} lies off the check points, ${signedLength(offset)} at ${plural(points, 'point')} (median), while ${passes === 2 ? 'the other pass lies' : `the other ${passes - 1} passes lie`} at ${signedLength(others)}: look at the trajectory of that pass, its satellite reception and its antenna height, before changing anything for the whole delivery.`,
      figures: {
        offset: figure(offset, 'm'),
        others: figure(others, 'm'),
        apart: figure(offset - others, 'm'),
        points: figure(points, 'count'),
      },
    };
  },
};

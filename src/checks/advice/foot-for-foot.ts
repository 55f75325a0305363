import { figure, length, plural } from '../contract/wording.js';
import type { AdviceRule, HorizontalFacts } from './rule.js';

/** By how much the US survey foot, 1200/3937 m, is longer than the international one, 0.3048 m, as a share. */
const LONGER = 1200 / 3937 / 0.3048 - 1;
const RATIO_TOLERANCE = 0.1;
const LEFT_OVER = 0.3;

/**
 * The share by which coordinates of the cloud are too large, when it is the difference of the two feet; null otherwise.
 * Over a delivery of a few kilometres that is the same vector everywhere: it is recognised by its direction, away from the
 * origin of the coordinates, and its size.
 */
export function footForFoot({ points, limit }: HorizontalFacts): { ratio: number; size: number } | null {
  if (points.length < 3) return null;
  let products = 0;
  let squares = 0;
  let before = 0;
  for (const { x, y, dx, dy } of points) {
    products += x * dx + y * dy;
    squares += x * x + y * y;
    before += dx * dx + dy * dy;
  }
  if (!(squares > 0)) return null;
  const ratio = products / squares;
  const size = Math.sqrt(before / points.length);
  const unit = Math.sign(ratio) * LONGER;
  if (size <= limit || Math.abs(ratio / unit - 1) > RATIO_TOLERANCE) return null;
  const left = points.reduce((sum, p) => sum + (p.dx - unit * p.x) ** 2 + (p.dy - unit * p.y) ** 2, 0);
  return Math.sqrt(left / before) <= LEFT_OVER ? { ratio, size } : null;
}

export const footForFootRule: AdviceRule<'plan'> = {
  id: 'foot-for-foot',
  title: 'US survey feet taken for international feet, or the other way round',
  why: 'The two feet differ by two parts in a million: nothing in a street, more than a metre in large coordinates.',
  sources: [
    { standard: 'US survey foot', note: '1200/3937 m; the international foot is 0.3048 m' },
    { standard: 'common practice', note: 'ratio by least squares through the origin' },
  ],
  reads: 'plan',

  advise(facts) {
    const found = footForFoot(facts);
    if (!found) return null;
    return {
      text: `The cloud lies ${length(found.size)} off at ${plural(facts.points.length, 'check point')}, straight ${found.ratio > 0 ? 'away from' : 'towards'} the origin of the coordinates by ${(found.ratio * 1e6).toFixed(2)} parts in a million, which is the difference of the US survey foot and the international foot: compare the foot of both.`,
      figures: { ratio: figure(found.ratio, 'ratio'), size: figure(found.size, 'm') },
    };
  },
};

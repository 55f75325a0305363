import { rmse } from '../../geometry/statistics.js';
import { figure, length, plural } from '../contract/wording.js';
import type { AdviceRule, HeightFacts } from './rule.js';

/** Metres in a foot; which of the two feet cannot be told from heights, they differ by two millionths. */
const FOOT = 0.3048;
/** How far the ratio found may lie from that of the units, and what may be left of the differences. */
const RATIO_TOLERANCE = 0.01;
const LEFT_OVER = 0.1;

/** The ratio of cloud heights to surveyed heights, when it is that of feet and metres; null otherwise. */
export function feetForMetres({ points, limit }: HeightFacts): { ratio: number; left: number; before: number } | null {
  if (points.length < 3) return null;
  let products = 0;
  let squares = 0;
  for (const { z, dz } of points) {
    products += z * (z + dz);
    squares += z * z;
  }
  const before = rmse(points.map((p) => p.dz));
  if (!(squares > 0) || before < 10 * limit) return null;
  const ratio = products / squares;
  for (const unit of [FOOT, 1 / FOOT]) {
    if (Math.abs(ratio / unit - 1) > RATIO_TOLERANCE) continue;
    const left = rmse(points.map(({ z, dz }) => z + dz - unit * z));
    if (left <= LEFT_OVER * before) return { ratio, left, before };
  }
  return null;
}

export const heightUnit: AdviceRule<'heights'> = {
  id: 'height-unit',
  title: 'heights in feet taken for metres, or the other way round',
  why: 'Where one side holds feet and the other metres, heights differ by a constant ratio, not by a constant.',
  sources: [
    { standard: 'international foot', note: '0.3048 m exactly; the US survey foot, 1200/3937 m, differs by 2 ppm' },
    { standard: 'common practice', note: 'ratio by least squares through zero' },
  ],
  reads: 'heights',

  advise(facts) {
    const found = feetForMetres(facts);
    if (!found) return null;
    const feet = found.ratio > 1 ? 'the cloud holds feet where metres are stated' : 'the points file holds feet';
    return {
      text: `Heights of the cloud are ${found.ratio.toFixed(4)} times those of ${plural(facts.points.length, 'check point')}, the ratio of feet and metres, and ${length(found.left)} of the ${length(found.before)} of difference are left beside it: most likely ${feet}. Compare the units of heights in both before anything else.`,
      figures: {
        ratio: figure(found.ratio, 'share'),
        before: figure(found.before, 'm'),
        left: figure(found.left, 'm'),
        points: figure(facts.points.length, 'count'),
      },
    };
  },
};

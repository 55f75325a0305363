import { rmse } from '../../geometry/statistics.js';
import { figure, length, plural } from '../contract/wording.js';
import type { AdviceRule, HeightFacts } from './rule.js';

/** Metres in a foot; heights do not show which of the two feet it is, they differ by two millionths. */
const FOOT = 0.3048;
/** Ratio of heights of the cloud to surveyed heights, and what explains it. */
const UNITS = [
  { ratio: 1 / FOOT, units: 'feet and metres', text: 'the cloud holds feet where metres are stated' },
  { ratio: FOOT, units: 'feet and metres', text: 'the points file holds feet' },
  { ratio: 1000, units: 'millimetres and metres', text: 'the cloud holds millimetres where metres are stated' },
  { ratio: 0.001, units: 'millimetres and metres', text: 'the points file holds millimetres' },
  { ratio: 100, units: 'centimetres and metres', text: 'the cloud holds centimetres where metres are stated' },
  { ratio: 0.01, units: 'centimetres and metres', text: 'the points file holds centimetres' },
] as const;
/** How far the ratio found may lie from that of the units, and what may be left of the differences. */
const RATIO_TOLERANCE = 0.01;
const LEFT_OVER = 0.1;

interface UnitMismatch {
  ratio: number;
  /** RMS of the differences, metres, before and after the surveyed heights are multiplied by the ratio of the units. */
  before: number;
  left: number;
  unit: (typeof UNITS)[number];
}

/** Two units whose ratio explains the differences of the heights; null where there are none, and for fewer than three points. */
export function unitMismatch({ points, limit }: HeightFacts): UnitMismatch | null {
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
  const unit = UNITS.find((one) => Math.abs(ratio / one.ratio - 1) <= RATIO_TOLERANCE);
  if (!unit) return null;
  const left = rmse(points.map(({ z, dz }) => z + dz - unit.ratio * z));
  return left <= LEFT_OVER * before ? { ratio, left, before, unit } : null;
}

export const heightUnit: AdviceRule<'heights'> = {
  id: 'height-unit',
  title: 'heights in two different units',
  why: 'Where one side holds feet, millimetres or centimetres and the other metres, heights differ by a constant ratio, not by a constant.',
  sources: [
    { standard: 'international foot', note: '0.3048 m exactly; the US survey foot, 1200/3937 m, differs by 2 ppm' },
    { standard: 'common practice', note: 'ratio by least squares through zero' },
  ],
  reads: 'heights',

  advise(facts) {
    const found = unitMismatch(facts);
    if (!found) return null;
    return {
      text: `Heights of the cloud are ${found.ratio.toFixed(4)} times those of ${plural(facts.points.length, 'check point')}, the ratio of ${found.unit.units}, and ${length(found.left)} of the ${length(found.before)} of difference are left beside it: most likely ${found.unit.text}. Compare the units of heights in both before anything else.`,
      figures: {
        ratio: figure(found.ratio, 'ratio'),
        before: figure(found.before, 'm'),
        left: figure(found.left, 'm'),
        points: figure(facts.points.length, 'count'),
      },
    };
  },
};

import { figure } from '../contract/wording.js';
import { apart, boxesMeet } from './boxes.js';
import type { AdviceRule, PlacementFacts } from './rule.js';

/** Whether the points lie at the cloud once easting and northing change places, and only then. */
export function axesSwapped({ surveyed, cloud }: PlacementFacts): boolean {
  const [x0, y0, x1, y1] = surveyed;
  return !boxesMeet(surveyed, cloud) && boxesMeet([y0, x0, y1, x1], cloud);
}

export const pointsAxesSwapped: AdviceRule<'placement'> = {
  id: 'points-axes-swapped',
  title: 'easting and northing have changed places',
  why: 'In many countries X is the northing; read as the easting, it puts the points far from the cloud.',
  sources: [{ standard: 'common practice', note: 'boxes of points and cloud meet after the change' }],
  reads: 'placement',

  advise(facts) {
    if (!axesSwapped(facts)) return null;
    return {
      text: `The points lie ${apart(facts)} from the cloud, and inside it once their two plan coordinates change places: name the columns easting and northing, which cannot be misread.`,
      figures: { points: figure(facts.points, 'count') },
    };
  },
};

import { figure } from '../contract/wording.js';
import { apart, boxesMeet, scaled } from './boxes.js';
import type { AdviceRule, PlacementFacts } from './rule.js';

const UNITS = [
  { ratio: 1 / 0.3048, text: 'as if the points file held metres and the cloud feet' },
  { ratio: 0.3048, text: 'as if the points file held feet and the cloud metres' },
  { ratio: 1000, text: 'as if the points file held kilometres' },
  { ratio: 0.001, text: 'as if the points file held millimetres' },
] as const;

/** The ratio that brings the points to the cloud, when it is one of units; null otherwise. */
export function unitOfPoints({ surveyed, cloud }: PlacementFacts): (typeof UNITS)[number] | null {
  if (boxesMeet(surveyed, cloud)) return null;
  return UNITS.find(({ ratio }) => boxesMeet(scaled(surveyed, ratio), cloud)) ?? null;
}

export const pointsInAnotherUnit: AdviceRule<'placement'> = {
  id: 'points-in-another-unit',
  title: 'points file and cloud in different units',
  why: 'Coordinates in another unit put the points far from the cloud, and a single ratio brings them there.',
  sources: [{ standard: 'common practice', note: 'boxes of points and cloud meet after the ratio of two units' }],
  reads: 'placement',

  advise(facts) {
    const found = unitOfPoints(facts);
    if (!found) return null;
    return {
      text: `The points lie ${apart(facts)} from the cloud, and inside it once their coordinates are taken times ${found.ratio.toFixed(4)}, ${found.text}: write the unit into the names of the columns, such as "easting (ft)", or state the right unit in the cloud.`,
      figures: { ratio: figure(found.ratio, 'ratio'), points: figure(facts.points, 'count') },
    };
  },
};

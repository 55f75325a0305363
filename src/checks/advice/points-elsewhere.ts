import { figure } from '../contract/wording.js';
import { apart, boxesMeet, distanceOf } from './boxes.js';
import { axesSwapped } from './points-axes-swapped.js';
import { unitOfPoints } from './points-in-another-unit.js';
import type { AdviceRule } from './rule.js';

export const pointsElsewhere: AdviceRule<'placement'> = {
  id: 'points-elsewhere',
  title: 'points file and cloud in different coordinate systems',
  why: 'Points of the right area in another zone, datum or projection lie kilometres from the cloud.',
  sources: [{ standard: 'common practice' }],
  reads: 'placement',

  advise(facts) {
    if (boxesMeet(facts.surveyed, facts.cloud) || unitOfPoints(facts) || axesSwapped(facts)) return null;
    return {
      text: `The points lie ${apart(facts)} from the cloud, and neither a unit nor the order of the axes explains it: check that both have the same coordinate system and zone, and whether the northing or easting was cut by its leading digits.`,
      figures: { distance: figure(distanceOf(facts), 'm'), points: figure(facts.points, 'count') },
    };
  },
};

import { figure, signedLength } from '../contract/wording.js';
import type { AdviceRule } from './rule.js';
import { axisWords, growingCourses } from './vehicle-words.js';

/** What is left of the offset when its line is followed back to the alignment, as a share of it. */
const AT_ALIGNMENT = 0.35;

export const growthSinceAlignment: AdviceRule<'vehicleDrift'> = {
  id: 'growth-since-alignment',
  title: 'attitude aligned too long ago',
  why: 'Inertial sensors drift from their alignment on: an offset that grows in a straight line and was nothing at the last alignment comes from them.',
  sources: [
    {
      standard: 'Japan, GSI public survey operation rules (2025)',
      clause: 'article 185 and others',
      note: 'lines of at most about 15 minutes because of the drift of the sensors: written for photographs from the air (transcript read), for vehicles by analogy',
    },
    {
      standard: 'common practice',
      note: 'straight line through the offsets along GPS time, three standard deviations',
    },
  ],
  reads: 'vehicleDrift',

  advise(facts) {
    const { pass, aligned } = facts;
    if (aligned === null) return null;
    const found = growingCourses(facts).find(({ at, to }) => Math.abs(at(aligned)) <= AT_ALIGNMENT * Math.abs(at(to)));
    if (found === undefined) return null;
    const { axis, slope, to, at } = found;
    const minutes = (to - aligned) / 60;
    return {
      text: `The offset of ${pass} ${axisWords(axis)} grows by ${(slope.value * 60_000).toFixed(1)} mm a minute to ${signedLength(at(to))}, ${minutes.toFixed(1)} minutes after the vehicle last stood or drove in circles, and was next to nothing then: align more often, and process the drive again.`,
      figures: {
        offset: figure(at(to), 'm'),
        slope: figure(slope.value * 60_000, 'mm/min'),
        slopeStd: figure(slope.std * 60_000, 'mm/min'),
        aligned: figure(aligned, 's'),
      },
    };
  },
};

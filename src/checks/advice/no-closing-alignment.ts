import { figure, signedLength } from '../contract/wording.js';
import type { AdviceRule } from './rule.js';
import { axisWords, growingCourses } from './vehicle-words.js';

/** How many times the offset at the end is that at the begin, at least. */
const TIMES = 2;

export const noClosingAlignment: AdviceRule<'vehicleDrift'> = {
  id: 'no-closing-alignment',
  title: 'a drive without its closing alignment',
  why: 'A solution that runs backward begins at the end of the drive: without an alignment there it holds nothing, and the error grows towards the end.',
  sources: [
    {
      standard: 'Japan, GSI public survey operation rules (2025)',
      clause: 'articles 500 and 501',
      note: 'at the end of a drive a closing procedure like the initialisation (transcript read); no public rule for its seconds or manoeuvres was found',
    },
  ],
  reads: 'vehicleDrift',

  advise(facts) {
    const { pass, closing } = facts;
    if (closing !== null) return null;
    const found = growingCourses(facts).find(({ at, from, to }) => Math.abs(at(to)) >= TIMES * Math.abs(at(from)));
    if (found === undefined) return null;
    const { axis, at, from, to } = found;
    return {
      text: `The offset of ${pass} ${axisWords(axis)} grows towards the end of the drive, from ${signedLength(at(from))} to ${signedLength(at(to))}, and the vehicle neither stood nor drove in circles after that: see whether the closing alignment was left out or cut off, and process the whole drive again.`,
      figures: { offset: figure(at(to), 'm'), begin: figure(at(from), 'm'), at: figure(to, 's') },
    };
  },
};

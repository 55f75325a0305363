import type { AccuracyStatement } from './model.js';
import { quantity } from './quantity.js';

type Mark = AccuracyStatement['sources'][number]['mark'];

const MARK_WORDS: Record<Mark, string> = {
  read: 'seen in the source',
  'read-T': 'seen in a transcript',
  'read-S': 'seen in a description by others',
  computed: 'computed from published figures',
  memory: 'from memory, to be verified',
};

/** The result of a statement in a few words: the class met, and whether it is claimed. */
export function statementResult({ class: met, claimed }: AccuracyStatement): string {
  return `${met ?? 'no class met'}${claimed ? '' : ', not claimed'}`;
}

/** What a statement depends on, a few words each: class met, number of check points, their distribution. */
export function statementConditions({ class: met, count, spread }: AccuracyStatement): string[] {
  const points = `${count.met ? 'enough' : 'too few'} check points: ${count.found}, ${count.asked} required`;
  return [...(met === null ? [] : [`smallest class met: ${met}`]), points, spreadWords(spread)];
}

function spreadWords({ leastShare, askedShare, spacing, askedSpacing, met }: AccuracyStatement['spread']): string {
  if (met === null || leastShare === null) return 'spread of the check points not known';
  const shares = `at least ${quantity(leastShare, 'share')} in each quarter, ${quantity(askedShare, 'share')} required`;
  const apart =
    spacing === null || askedSpacing === null
      ? ''
      : `; ${quantity(spacing, 'm')} apart or more, ${quantity(askedSpacing, 'm')} required`;
  return `${met ? 'distributed as required' : 'not distributed as required'}: ${shares}${apart}`;
}

/** The sources, one a line, each with how far it can be trusted. */
export function statementSources({ sources }: AccuracyStatement): string[] {
  return sources.map(({ what, source, mark }) => `${what}: ${source} (${MARK_WORDS[mark]})`);
}

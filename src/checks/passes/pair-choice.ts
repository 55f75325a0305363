import { isOneDrive, passRuleWords } from '../../delivery/passes.js';
import type { PassPair } from '../../measure/pass-pairs.js';
import type { JudgeContext } from '../contract/check.js';
import type { PassAgreementOptions } from './agreement-options.js';

/** The pairs that the requirement asks for. */
export function pairsToJudge(
  pairs: PassPair[],
  wanted: PassAgreementOptions['pairs'],
  { delivery }: JudgeContext,
): PassPair[] {
  if (wanted === 'all') return pairs;
  return pairs.filter(({ a, b }) => isOneDrive(delivery.passRule, a, b) === (wanted === 'within-drive'));
}

/** Why there is no pair to judge although passes meet. */
export function noSuchPair(wanted: PassAgreementOptions['pairs'], { delivery }: JudgeContext): string {
  const rule = passRuleWords(delivery.passRule);
  return wanted === 'within-drive'
    ? `The requirement compares the scanner heads of one drive, but no two passes that have seen the same ground belong to one drive (passes separated by ${rule}).`
    : `The requirement compares passes of different drives, but all passes that have seen the same ground belong to one drive (passes separated by ${rule}).`;
}

/** How to get pairs of heads and pairs of drives. */
export const HEADS_ADVICE =
  'List point-source-id or gps-time-gap together with scanner-channel in passes.by of the spec, so that drives and their scanner heads are both separated.';

/** What is compared, in words. */
export const PAIR_WORDS: Record<PassAgreementOptions['pairs'], string> = {
  all: 'two passes',
  'within-drive': 'two scanner heads of one drive',
  'between-drives': 'two passes of different drives',
};

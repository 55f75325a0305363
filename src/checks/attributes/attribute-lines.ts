import type { DeliveredFile } from '../../delivery/delivery.js';
import type { FileAttributes } from '../../measure/attribute-codes.js';
import { LONGEST_PULSE, type PulseTimes } from '../../measure/pulse-times.js';
import type { TimeOrderRow } from '../../measure/time-order.js';
import type { Evidence, JudgeContext, Location } from '../contract/check.js';
import { percent, plural } from '../contract/wording.js';
import type { AttributeLimits } from './attribute-breach.js';
import { attributeRules } from './attribute-rules.js';

/** Rules on more than the labels of single points. */
export const PULSE_RULE = {
  id: 'pulse-time-unequal',
  metric: 'pulseTimeUnequal',
  fault: 'returns of different GPS times',
  /** What the rule can tell, in words. */
  bound:
    'Returns of a pulse are known by their order in time: where their times differ by more than 10 microseconds, or by so much that returns of other pulses lie between them, they cannot be determined from returns of several pulses, and the requirement is undetermined where that concerns many (1 %, or 10 %); beyond a thousandth of a second nothing is seen',
};
export const ORDER_RULE = {
  id: 'time-backwards',
  metric: 'timeBackwards',
  fault: 'a GPS time earlier than the point before',
};
/** Where points were deleted, two pulses may look like one; never more than a few. */
const PULSE_SHARE = 0.01;
/** Share of pulses of which first and last return may be recorded without each other, as filters leave them. */
const SPLIT_SHARE = 0.1;
/** Fewer such pulses prove nothing: chance, or the edge of a small area. */
const LEAST_UNJUDGED = 20;
const LISTED = 25;

/** One rule and what became of it. */
export interface RuleLine {
  id: string;
  metric: string;
  /** "3 points with class 0 (never classified)". */
  what: string;
  /** null: there was nothing to test it on. */
  count: number | null;
  /** Files that break it. */
  rows: { file: string; count: number; detail: string; place: { x: number; y: number; z?: number } }[];
  /** Why the requirement cannot pass although the rule is not seen to be broken, as a sentence; else left out. */
  doubt?: string;
}

/** Lines of the rules on labels; `faultOf` says a rule's fault with the limits filled in. */
export function labelLines(
  ids: ReadonlySet<string>,
  files: readonly FileAttributes[],
  limits: AttributeLimits,
  { delivery }: JudgeContext,
  faultOf: (id: string) => string,
): RuleLine[] {
  return attributeRules
    .filter((rule) => ids.has(rule.id))
    .map((rule) => {
      const rows: RuleLine['rows'] = [];
      let count: number | null = null;
      for (const found of files) {
        const file = delivery.files[found.file];
        const breach = rule.look(found, file, limits);
        if (breach.count === null) continue;
        count = (count ?? 0) + breach.count;
        if (breach.count === 0) continue;
        const place = breach.first ?? middleOf(file);
        rows.push({ file: file.name, count: breach.count, detail: breach.detail, place });
      }
      const noun = rule.counts === 'points' ? 'point' : 'file';
      const what = `${plural(count ?? 0, noun)} with ${faultOf(rule.id)}`;
      return { id: rule.id, metric: rule.metric, what, count, rows };
    });
}

function middleOf({ header, horizontalUnit }: DeliveredFile): { x: number; y: number } {
  const { min, max } = header!;
  return { x: ((min[0] + max[0]) / 2) * horizontalUnit, y: ((min[1] + max[1]) / 2) * horizontalUnit };
}

/** Broken when more pulses than deleted points explain have returns of different times. */
export function pulseLine({ pulses, unequal, apart, split, example }: PulseTimes): RuleLine {
  const broken = example !== null && unequal > PULSE_SHARE * pulses;
  const rows: RuleLine['rows'] = [];
  if (broken) {
    const detail = `${percent(unequal / pulses)} of ${plural(pulses, 'pulse')} in a sample; ${(example.spread * 1e9).toFixed(0)} ns apart at time ${example.time}`;
    rows.push({ file: '', count: unequal, detail, place: { x: example.x, y: example.y } });
  }
  return {
    id: PULSE_RULE.id,
    metric: PULSE_RULE.metric,
    what: `${plural(unequal, 'pulse')} of ${pulses} sampled with ${PULSE_RULE.fault}`,
    count: pulses === 0 ? null : broken ? unequal : 0,
    rows,
    ...(broken ? {} : doubtOf(apart, split, pulses + apart + split)),
  };
}

/** Where many pulses could not be judged, their times may differ by more than the rule can see. */
function doubtOf(apart: number, split: number, all: number): { doubt?: string } {
  const many =
    (apart >= LEAST_UNJUDGED && apart > PULSE_SHARE * all) || (split >= LEAST_UNJUDGED && split > SPLIT_SHARE * all);
  if (!many) return {};
  const parts = [
    apart > 0
      ? `${apart.toLocaleString('en-GB')} ${apart === 1 ? 'has' : 'have'} returns more than ${LONGEST_PULSE * 1e6} microseconds apart`
      : '',
    split > 0
      ? `${split.toLocaleString('en-GB')} ${split === 1 ? 'has' : 'have'} a first and a last return that do not follow each other`
      : '',
  ].filter((part) => part !== '');
  return {
    doubt: `Of ${all.toLocaleString('en-GB')} pulses of several returns in a sample, ${parts.join(' and ')}: either their returns carry different times, or points were removed; the points do not show which.`,
  };
}

/** Steps back in time, in the order of each file. */
export function orderLine(found: readonly TimeOrderRow[], { delivery }: JudgeContext): RuleLine {
  const rows: RuleLine['rows'] = [];
  for (const { file, channel, steps, largest } of found) {
    if (largest === null) continue;
    const detail = `channel ${channel}; the largest step back is ${largest.seconds} s`;
    rows.push({ file: delivery.files[file].name, count: steps, detail, place: { x: largest.x, y: largest.y } });
  }
  const steps = rows.reduce((sum, row) => sum + row.count, 0);
  return {
    id: ORDER_RULE.id,
    metric: ORDER_RULE.metric,
    what: `${plural(steps, 'point')} with ${ORDER_RULE.fault}`,
    count: found.length === 0 ? null : steps,
    rows,
  };
}

/** A line in words, with the first file that breaks the rule. */
export function sentenceOf({ what, rows }: RuleLine): string {
  const files = [...new Set(rows.map((row) => row.file))].filter((file) => file !== '');
  if (files.length === 0) return what;
  return `${what} (${files[0]}${files.length > 1 ? ` and ${plural(files.length - 1, 'more file')}` : ''})`;
}

/** Places and a table, the most violations first. */
export function evidenceOf(lines: readonly RuleLine[]): Evidence[] {
  const rows = lines
    .flatMap((line) => line.rows.map((row) => ({ ...row, id: line.id })))
    .sort((a, b) => b.count - a.count || order(a.id, b.id) || order(a.file, b.file));
  const items = rows.slice(0, LISTED).map(
    ({ id, file, count, detail, place }): Location => ({
      ...place,
      ...(file === '' ? {} : { file }),
      value: count,
      unit: 'count',
      note: `${id}: ${detail}`,
    }),
  );
  return [
    { kind: 'locations', title: 'Where rules are broken', items },
    {
      kind: 'table',
      title: 'Rules broken, by file',
      columns: [
        { key: 'file', title: 'file' },
        { key: 'rule', title: 'rule' },
        { key: 'count', title: 'violations', unit: 'count' },
        { key: 'found', title: 'what was found' },
      ],
      rows: rows.map(({ file, id, count, detail }) => [file === '' ? 'all' : file, id, count, detail]),
    },
  ];
}

function order(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}

import { Fault } from '../fault.js';
import type { PassCriterion } from '../spec/acceptance-spec.js';
import type { DeliveredFile, PassRule } from './delivery.js';
import { sectionLabel } from './drive-sections.js';
import type { Trajectory } from './trajectory.js';

/** Number of values of a criterion; of those that depend on the delivery, the number is found there. */
const SOURCES = 65_536;
const CHANNELS = 4;
/** Keys are signed integers of 32 bits. */
const MOST_KEYS = 2 ** 31;

/**
 * How the key of a pass is made of the values of its criteria: key = key * radix + value, criterion by criterion. A key of
 * one criterion is its value. It depends on the point and the rule alone, so that it is the same in every worker.
 */
export interface PassKeyPart {
  criterion: PassCriterion;
  /** Values of the criterion are below it; of the first criterion it is not used. */
  radix: number;
}

/** The parts of a pass key. @param drives number of drives that pauses in GPS time separate; 1 without gps-time-gap */
export function passKeyParts(rule: PassRule, drives: number): PassKeyPart[] {
  return rule.by.map((criterion) => ({ criterion, radix: radixOf(criterion, rule, drives) }));
}

function radixOf(criterion: PassCriterion, { sections }: PassRule, drives: number): number {
  switch (criterion) {
    case 'file':
      return MOST_KEYS;
    case 'point-source-id':
      return SOURCES;
    case 'gps-time-gap':
      return drives;
    case 'trajectory':
      return 1 + (sections?.sections.length ?? 0);
    case 'scanner-channel':
      return CHANNELS;
  }
}

/**
 * Refuses a rule by which the delivery would have more pass keys than there is room for.
 * @throws Fault `too-many-passes`
 */
export function refuseTooManyPasses(rule: PassRule, files: number, drives: number): void {
  const parts = passKeyParts(rule, drives);
  const keys = parts.reduce((product, { criterion, radix }) => product * (criterion === 'file' ? files : radix), 1);
  if (keys <= MOST_KEYS) return;
  throw new Fault({
    code: 'too-many-passes',
    where: 'the acceptance spec, passes.by',
    what: `the criteria of the passes together would separate more passes than can be counted (${files} files, ${drives} drives)`,
    found: `${keys} combinations`,
    expected: `at most ${MOST_KEYS}`,
    advice: 'Leave out one of the criteria, or set a larger gap',
  });
}

/** The values of the criteria in a key, in the order of the parts. */
function valuesOf(parts: readonly PassKeyPart[], key: number): number[] {
  const values = new Array<number>(parts.length);
  let rest = key;
  for (let k = parts.length - 1; k > 0; k--) {
    values[k] = rest % parts[k].radix;
    rest = Math.floor(rest / parts[k].radix);
  }
  values[0] = rest;
  return values;
}

/**
 * The name of a pass in reports: "source 12", the name of its file, "channel 1", "drive 3, from GPS time 7.0 s" (counted from
 * 1) or "drive 1, section 2, towards 45°"; of several criteria all of them, such as "source 12, channel 1".
 * @param starts GPS times, seconds, at which drives begin; null without gps-time-gap
 */
export function labelForPass(
  rule: PassRule,
  key: number,
  files: readonly Pick<DeliveredFile, 'index' | 'name'>[],
  starts: ArrayLike<number> | null = null,
): string {
  const parts = passKeyParts(rule, starts?.length ?? 1);
  const values = valuesOf(parts, key);
  return parts.map(({ criterion }, k) => labelOf(criterion, values[k], rule, files, starts)).join(', ');
}

function labelOf(
  criterion: PassCriterion,
  value: number,
  { sections }: PassRule,
  files: readonly Pick<DeliveredFile, 'index' | 'name'>[],
  starts: ArrayLike<number> | null,
): string {
  switch (criterion) {
    case 'point-source-id':
      return `source ${value}`;
    case 'file':
      return files.find((file) => file.index === value)?.name ?? `file ${value + 1}`;
    case 'scanner-channel':
      return `channel ${value}`;
    case 'trajectory':
      return sections === undefined ? `section ${value}` : sectionLabel(sections, value);
    case 'gps-time-gap':
      return `drive ${value + 1}${starts === null ? '' : `, from GPS time ${starts[value].toFixed(1)} s`}`;
  }
}

/** The criteria in words: "point-source-id and scanner-channel", "gps-time-gap of 20 s". */
export function passRuleWords({ by, gap }: PassRule): string {
  const words = by.map((criterion) => (criterion === 'gps-time-gap' ? `${criterion} of ${gap} s` : criterion));
  return words.length === 1 ? words[0] : `${words.slice(0, -1).join(', ')} and ${words.at(-1)}`;
}

/**
 * Whether two passes differ in the scanner channel alone: they are two scanner heads. By scanner channel alone, each of them is
 * all drives of a head together.
 */
export function areHeads({ by }: PassRule, a: number, b: number): boolean {
  return by.at(-1) === 'scanner-channel' && Math.floor(a / CHANNELS) === Math.floor(b / CHANNELS);
}

/** Whether two passes are two scanner heads of one drive. Only a rule that separates drives and heads can say so. */
export function isOneDrive(rule: PassRule, a: number, b: number): boolean {
  return rule.by.length > 1 && areHeads(rule, a, b);
}

/**
 * Refuses passes by trajectory where none is given, or where it cannot be used.
 * @throws Fault `passes-without-trajectory`
 */
export function refusePassesWithoutTrajectory({ by }: PassRule, trajectory: Trajectory | null): void {
  if (!by.includes('trajectory') || (trajectory !== null && trajectory.drives.length > 0)) return;
  throw new Fault({
    code: 'passes-without-trajectory',
    where: 'the acceptance spec, passes.by',
    what:
      trajectory === null
        ? 'passes are separated by the drives of the trajectory, but no trajectory is given'
        : `passes are separated by the drives of the trajectory, but it cannot be used: ${trajectory.problem ?? 'it holds no drive'}`,
    advice: 'Give the trajectory with --trajectory, or separate passes by another criterion',
  });
}

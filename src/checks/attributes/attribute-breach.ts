import type { DeliveredFile } from '../../delivery/delivery.js';
import type { FileAttributes } from '../../measure/attribute-codes.js';
import { type Attribute, Code } from '../../measure/attributes/code-counts.js';

/** What the rules know of the requirement. */
export interface AttributeLimits {
  classes?: number[];
  maxScanAngle?: number;
  /** Days of GPS time since 1970-01-01; null when no limit is set. */
  firstDay: number | null;
  lastDay: number | null;
  unscaledIntensity: number;
}

/** What one file does against one rule. `count` is null where the file cannot be tested. */
export interface Breach {
  count: number | null;
  first: { x: number; y: number; z: number } | null;
  /** What was found, for the table. */
  detail: string;
}

/** A rule on the labels of points, decided file by file. */
export interface AttributeRule {
  /** The word used in the spec, and in camel case the name of the figure. */
  id: string;
  metric: string;
  counts: 'points' | 'files';
  /** Completes "points with ..." or "files with ...". */
  fault: string;
  attributes: readonly Attribute[];
  look(found: FileAttributes, file: DeliveredFile, limits: AttributeLimits): Breach;
}

/** The rule holds in the file. */
export const NOTHING: Breach = { count: 0, first: null, detail: '' };
/** The file has nothing the rule could be tested on. */
export const UNTESTED: Breach = { count: null, first: null, detail: '' };

/** Points under the codes from `begin` to `end` (not included) that `bad` picks; `say` names a code for the table. */
export function pick(
  found: FileAttributes,
  begin: number,
  end: number,
  bad: (value: number) => boolean,
  say: (value: number) => string,
): Breach {
  const hits = [...found.codes]
    .filter(([code]) => code >= begin && code < end && bad(code - begin))
    .sort(([a, p], [b, q]) => q.points - p.points || a - b);
  if (hits.length === 0) return NOTHING;
  const named = hits.slice(0, 4).map(([code, { points }]) => `${say(code - begin)}: ${points}`);
  return {
    count: hits.reduce((sum, [, { points }]) => sum + points, 0),
    first: hits[0][1].first,
    detail: named.join(', ') + (hits.length > 4 ? ` and ${hits.length - 4} more` : ''),
  };
}

/** Points under a single code. */
export function one(found: FileAttributes, code: number, detail: string): Breach {
  const hit = found.codes.get(code);
  return hit ? { count: hit.points, first: hit.first, detail } : NOTHING;
}

/** A rule about the file as a whole: it counts once. */
export function wholeFile(broken: boolean, detail: string): Breach {
  return broken ? { count: 1, first: null, detail } : NOTHING;
}

/** Formats 0 to 5. */
export function isLegacy(file: DeliveredFile): boolean {
  return file.header!.pointFormat < 6;
}

/**
 * Classes that may not be used, LAS 1.4 R16, tables of classification values: 10, 11 and 13 to 31 in formats 0 to 5 (12 is
 * overlap there); 8, 12 and 23 to 63 in formats 6 to 10. A published domain profile may use 39 to 63: the spec lists them.
 */
export function isReserved(value: number, legacy: boolean): boolean {
  if (legacy) return value === 10 || value === 11 || (value >= 13 && value <= 31);
  return value === 8 || value === 12 || (value >= 23 && value <= 63);
}

/** Points of the classes that `bad` picks. */
export function classes(found: FileAttributes, bad: (value: number) => boolean): Breach {
  return pick(found, Code.class, Code.class + 256, bad, (value) => `class ${value}`);
}

/** Points of the return numbers and numbers of returns that `bad` picks. */
export function returns(found: FileAttributes, bad: (number: number, total: number) => boolean): Breach {
  const name = (value: number) => `return ${value & 15} of ${value >> 4}`;
  return pick(found, Code.returns, Code.returns + 256, (value) => bad(value & 15, value >> 4), name);
}

/** Points seen at more than so many degrees from the nadir. */
export function angles(found: FileAttributes, above: number): Breach {
  const name = (value: number) => `over ${value - 1} to ${value} degrees`;
  return pick(found, Code.angle, Code.angle + 200, (value) => value > above, name);
}

/** Points, withheld ones too, that have the flag of this bit. */
export function flagged(found: FileAttributes, bit: number, name: string): Breach {
  const hits = pick(
    found,
    Code.flags,
    Code.flags + 64,
    (value) => (value & bit) !== 0,
    () => name,
  );
  return { ...hits, detail: hits.count === 0 ? '' : name };
}

/** Whether times are standard GPS time minus 1e9 (LAS 1.4 R16, global encoding, bit 0; versions 1.0 and 1.1 lack it). */
export function isStandardTime({ header }: DeliveredFile): boolean {
  return header!.versionMinor >= 2 && (header!.globalEncoding & 1) !== 0;
}

/** What must be added to stored times for GPS seconds since 1980-01-06: bit 6 and the time offset are LAS 1.5. */
export function timeShift({ header }: DeliveredFile): number {
  const offset = header!.versionMinor >= 5 && (header!.globalEncoding & 64) !== 0 ? header!.timeOffset : null;
  return offset === null ? 1e9 : offset * 1e6;
}

const EPOCH_DAY = Date.UTC(1980, 0, 6) / 86_400_000;

/** Day of GPS time since 1970-01-01; GPS days begin some seconds before those of UTC. */
function dayOf(stored: number, file: DeliveredFile): number {
  return EPOCH_DAY + Math.floor((stored + timeShift(file)) / 86_400);
}

/** Such as 2025-04-10. */
export function dayName(day: number): string {
  return Math.abs(day) < 1e7 ? new Date(day * 86_400_000).toISOString().slice(0, 10) : 'no date';
}

/** First and last day of the points; null where the stored times cannot be determined as days. */
export function periodOf(found: FileAttributes, file: DeliveredFile): [number, number] | null {
  if (!isStandardTime(file) || found.time === null) return null;
  return [dayOf(found.time[0], file), dayOf(found.time[1], file)];
}

/** Point formats with GPS time: all but 0 and 2. */
export const HAS_TIME = [false, true, false, true, true, true, true, true, true, true, true];

/** By place behind Code.timeMissing. */
export const TIME_NAMES = [
  '',
  'times up to 604,800',
  'times above 604,800',
  'times below 0',
  'times before GPS time began',
];

import type { ExtraByte } from '../../cloud/extra-bytes.js';
import type { DeliveredFile } from '../../delivery/delivery.js';
import type { Recount } from '../../measure/header-recount.js';
import type { ExtraField, StructureFacts } from '../../measure/structure-facts.js';
import { type RuleName, type Severity, type StructureRule, severityIn } from './rule.js';
import { structureRules } from './structure-rules.js';

/** One breach of a rule in one file. */
export interface StructureFinding {
  rule: StructureRule;
  severity: Severity;
  file: DeliveredFile;
  /** Absolute byte position; null where it is the points that are wrong. */
  offset: number | null;
  found: string | number;
  expected: string | number;
  text: string;
}

/** Rules whose breach is but another sight of one that the header breaks already. */
const FOLLOWS_FROM: Partial<Record<RuleName, RuleName>> = {
  'points-beyond-file': 'count-inexact',
  'laz-table-points': 'count-inexact',
};

/** Attributes of the extra bytes that state extremes: what must be measured to test them. */
export function fieldsToMeasure(file: DeliveredFile): ExtraField[] {
  return withExtremes(file).map(({ offset, typeCode, noData }) => ({ offset, type: typeCode, noData }));
}

function withExtremes({ extraBytes }: DeliveredFile): ExtraByte[] {
  return extraBytes.filter((e) => e.typeCode !== 0 && (e.min !== null || e.max !== null));
}

/**
 * Everything in a file that breaks a rule, in the order of places.
 * @param facts what its points tell; null when they were not asked
 * @param recount times of its points; null when they were not asked
 */
export function findingsOf(
  file: DeliveredFile,
  facts: StructureFacts | null,
  recount: Recount | null,
  strictWkt: boolean,
): StructureFinding[] {
  const minor = file.header?.versionMinor ?? 4;
  const findings: StructureFinding[] = [];
  const add = (
    name: RuleName,
    offset: number | null,
    found: string | number,
    expected: string | number,
    text: string,
  ) => {
    const rule = structureRules[name];
    findings.push({ rule, severity: severityIn(rule, minor), file, offset, found, expected, text });
  };
  const odd = strictWkt ? [...file.formatIssues, ...(file.crs?.strictWkt ?? [])] : file.formatIssues;
  for (const { rule, offset, found, expected, text } of odd) add(rule, offset, found, expected, text);
  addFault(file, add);
  if (file.fault === null) {
    if (file.copc && facts) addCopc(file, facts, recount, add);
    if (facts) addExtremes(file, facts, add);
  }
  return findings.sort((a, b) => (a.offset ?? Infinity) - (b.offset ?? Infinity) || (a.rule.id < b.rule.id ? -1 : 1));
}

type Add = (
  name: RuleName,
  offset: number | null,
  found: string | number,
  expected: string | number,
  text: string,
) => void;

/** A fault is a finding of its own unless the reader has noted the same breach already. */
function addFault({ faultFacts: fault, damage, formatIssues }: DeliveredFile, add: Add): void {
  for (const chunk of damage) {
    const { text } = structureRules['laz-chunk'];
    add('laz-chunk', chunk.begin, chunk.found ?? 'not so', chunk.expected ?? text, chunk.text);
  }
  if (fault === null || (fault.rule === 'laz-chunk' && damage.length > 0)) return;
  // Others are about access to the file, or about what this program cannot read.
  if (fault.rule === undefined || !(fault.rule in structureRules)) return;
  const name = fault.rule as RuleName;
  if (formatIssues.some((o) => o.rule === name || o.rule === FOLLOWS_FROM[name])) return;
  add(name, fault.offset ?? null, fault.found ?? 'not so', fault.expected ?? structureRules[name].text, fault.what);
}

/** Whether a file could not be tested for a reason that says nothing about its structure. */
export function isUntested(file: DeliveredFile, findings: readonly StructureFinding[]): boolean {
  return (
    file.fault !== null &&
    file.faultFacts?.code !== 'geographic-coordinates' &&
    !findings.some((f) => f.severity === 'error')
  );
}

function addCopc(file: DeliveredFile, facts: StructureFacts, recount: Recount | null, add: Add): void {
  const { copc, header } = file;
  if (copc === null || header === null) return;
  if (facts.outsideNode > 0) {
    add('copc-points', null, facts.outsideNode, 0, `${facts.outsideNode} points lie outside the cube of their node`);
  }
  const times = recount?.gps ?? null;
  if (times === null || (copc.gpsTimeMin === times[0] && copc.gpsTimeMax === times[1])) return;
  const found = `${copc.gpsTimeMin} to ${copc.gpsTimeMax}`;
  const text = 'the range of GPS times in the COPC info record is not that of the points';
  add('copc-times', COPC_TIMES_AT, found, `${times[0]} to ${times[1]}`, text);
}

/** Byte of the GPS time range: header of 375 bytes, record header of 54, 56 bytes of the info record. */
const COPC_TIMES_AT = 375 + 54 + 56;

function addExtremes(file: DeliveredFile, facts: StructureFacts, add: Add): void {
  for (const [i, extra] of withExtremes(file).entries()) {
    const turned = extra.min?.some((low, k) => low > (extra.max?.[k] ?? Number.POSITIVE_INFINITY));
    for (const [member, pair] of (facts.extremes[i] ?? []).entries()) {
      // A range that is turned round is said to be so.
      if (pair === null || turned) continue;
      const stated = [extra.min, extra.max].map((list) => (list === null ? null : list[member]));
      const wrong = stated.some((value, k) => value !== null && !sameNumber(value, pair[k], extra.type));
      if (!wrong) continue;
      const words = stated.map((value) => value ?? 'not stated').join(' to ');
      const text = `the stated range of extra bytes ${JSON.stringify(extra.name)} is not that of the stored values`;
      add('extra-bytes-extremes', extra.at + 64, words, `${pair[0]} to ${pair[1]}`, text);
    }
  }
}

/** Values of 32 bits may have been rounded once more on their way into the record. */
function sameNumber(a: number, b: number, type: string): boolean {
  return a === b || (type === 'f32' && Math.fround(a) === Math.fround(b));
}

import { wrap } from './console.js';
import { figuresWithLimits } from './figures.js';
import type { Report, RequirementResult } from './model.js';
import { clean } from './printable.js';
import { statementResult } from './statement.js';
import { countOf, deliveryWords, requirementWords } from './wording.js';

/** A requirement or a file that is in two reports, or in one of them. */
export interface Difference {
  kind: 'requirement' | 'file';
  /** Id of the requirement, or name of the file. */
  name: string;
  title: string;
  /** Verdict in words, before and after; null where it is not in that report. */
  before: string | null;
  after: string | null;
  /** Figures with a limit, before and after, in words. */
  figures: { label: string; before: string; after: string; limit: string }[];
  /** Result of the accuracy statement in words, before and after; null where there is none. */
  statement: { before: string | null; after: string | null };
  /** Ids of the requirements that are not met and have a place in the file; empty for a requirement. */
  places: { before: string[]; after: string[] };
}

export interface Comparison {
  verdict: { before: Report['verdict']; after: Report['verdict'] };
  /** False when the two were judged by different specs: a changed verdict may then come from a changed limit. */
  sameSpec: boolean;
  better: Difference[];
  worse: Difference[];
  unchanged: Difference[];
  new: Difference[];
  removed: Difference[];
}

/**
 * Compares the verdicts of two reports requirement by requirement (by id) and file by file (by name).
 * @returns what is better (not met or not read before, and now it is), worse (the other way round), unchanged, only in the
 * newer report (new) and only in the older one (removed). A requirement that does not apply counts as absent. Removed ones are
 * in the order of the older report, all others in that of the newer.
 */
export function compareReports(before: Report, after: Report): Comparison {
  const result: Comparison = {
    verdict: { before: before.verdict, after: after.verdict },
    sameSpec: before.spec.sha256 === after.spec.sha256,
    better: [],
    worse: [],
    unchanged: [],
    new: [],
    removed: [],
  };
  sortOut(result, requirementsOf(before), requirementsOf(after));
  sortOut(result, filesOf(before), filesOf(after));
  return result;
}

/** The comparison as text for a terminal; no line is longer than `columns` characters. */
export function comparisonText(comparison: Comparison, columns = 80): string {
  const lines = [
    `Verdict before: ${deliveryWords(comparison.verdict.before).word}. Now: ${deliveryWords(comparison.verdict.after).word}.`,
  ];
  if (!comparison.sameSpec) {
    for (const line of wrap(
      'The two reports were judged by different specs, so a change may come from a changed limit.',
      columns,
      '',
    ))
      lines.push(line);
  }
  const sections = [
    ...section('✗ Regressed', comparison.worse, columns),
    ...section('✓ Fixed', comparison.better, columns),
    ...section('+ New', comparison.new, columns),
    ...section('- Removed', comparison.removed, columns),
    ...section(
      '= Still not met or not fully read',
      comparison.unchanged.filter((item) => !isGood(item)),
      columns,
    ),
    ...section(
      '= Met as before, with another accuracy statement',
      comparison.unchanged.filter(isStatedOtherwise),
      columns,
    ),
  ];
  for (const line of sections) lines.push(line);
  const good = comparison.unchanged.filter((item) => isGood(item) && !isStatedOtherwise(item));
  const requirements = good.filter((item) => item.kind === 'requirement').length;
  lines.push(
    '',
    `Unchanged: ${countOf(requirements, 'requirement')} met, ${countOf(good.length - requirements, 'file')} completely read.`,
    '',
  );
  return lines.join('\n');
}

const READ = 'read completely';
const GOOD_WORDS = new Set(['met', READ]);

function isGood({ after }: Difference): boolean {
  return GOOD_WORDS.has(after ?? '');
}

/** Still met, but with another class, or the statement no longer claims the standard. */
function isStatedOtherwise(item: Difference): boolean {
  return isGood(item) && item.statement.before !== item.statement.after;
}

interface Entry {
  good: boolean;
  kind: Difference['kind'];
  title: string;
  words: string;
  figures: ReturnType<typeof figuresWithLimits>;
  statement: string | null;
  places: string[];
}

function requirementsOf(report: Report): Map<string, Entry> {
  const judged = report.requirements.filter((r) => r.verdict !== 'not-applicable');
  return new Map(judged.map((r) => [r.id, requirementEntry(r)]));
}

function requirementEntry(r: RequirementResult): Entry {
  const words = r.verdict === 'fail' ? 'not met' : requirementWords(r).word;
  return {
    good: r.verdict === 'pass',
    kind: 'requirement',
    title: r.title,
    words,
    figures: figuresWithLimits(r),
    statement: r.statement ? statementResult(r.statement) : null,
    places: [],
  };
}

function filesOf(report: Report): Map<string, Entry> {
  return new Map(
    report.files.map((f) => [
      f.file,
      {
        good: f.fault === null,
        kind: 'file',
        title: f.fault ?? '',
        words: f.fault === null ? READ : 'not fully read',
        figures: [],
        statement: null,
        places: report.requirements
          .filter((r) => r.verdict === 'fail' && r.locations.some((l) => l.file === f.file))
          .map((r) => r.id),
      },
    ]),
  );
}

function sortOut(result: Comparison, before: Map<string, Entry>, after: Map<string, Entry>): void {
  for (const [name, now] of after) {
    const then = before.get(name);
    const item = difference(name, then, now);
    if (then === undefined) result.new.push(item);
    else if (then.good === now.good) result.unchanged.push(item);
    else if (now.good) result.better.push(item);
    else result.worse.push(item);
  }
  for (const [name, then] of before) if (!after.has(name)) result.removed.push(difference(name, then, undefined));
}

function difference(name: string, then: Entry | undefined, now: Entry | undefined): Difference {
  const shown = (now ?? then) as Entry;
  const figures = shown.figures
    .filter((figure) => figure.measured !== undefined)
    .map((figure) => {
      const old = then?.figures.find((other) => other.name === figure.name && other.measured !== undefined);
      return {
        label: figure.label,
        before: old?.measuredText ?? '',
        after: now ? figure.measuredText : '',
        limit: figure.limitText,
      };
    });
  return {
    kind: shown.kind,
    name,
    title: shown.title,
    before: then?.words ?? null,
    after: now?.words ?? null,
    figures,
    statement: { before: then?.statement ?? null, after: now?.statement ?? null },
    places: { before: then?.places ?? [], after: now?.places ?? [] },
  };
}

/** The accuracy statement before and now, in words; null where neither report has one. */
export function statementChange({ statement: { before, after } }: Difference): string | null {
  if (before === null && after === null) return null;
  if (before === after) return `accuracy statement: ${clean(after!)}`;
  return `accuracy statement: ${clean(before ?? 'none')} before, ${clean(after ?? 'none')} now`;
}

function section(heading: string, items: readonly Difference[], columns: number): string[] {
  if (items.length === 0) return [];
  const lines = ['', `${heading} (${items.length})`];
  for (const item of items) {
    const change =
      item.before === null || item.after === null || item.before === item.after
        ? (item.after ?? item.before)
        : `${item.before} before, ${item.after} now`;
    const title = item.title === '' ? '' : `, ${clean(item.title)}`;
    for (const line of wrap(`  ${clean(item.name)}${title}: ${change}`, columns, '    ')) lines.push(line);
    for (const figure of item.figures) {
      const values = [figure.before && `${figure.before} before`, figure.after && `${figure.after} now`].filter(
        Boolean,
      );
      for (const line of wrap(`    ${figure.label} ${values.join(', ')} (limit ${figure.limit})`, columns, '      '))
        lines.push(line);
    }
    const stated = statementChange(item);
    if (stated) for (const line of wrap(`    ${stated}`, columns, '      ')) lines.push(line);
    const { before, after } = item.places;
    if (before.join() !== after.join()) {
      const list = (ids: string[]) => (ids.length === 0 ? 'none' : ids.join(', '));
      for (const line of wrap(
        `    has places of requirements not met: ${list(before)} before, ${list(after)} now`,
        columns,
        '      ',
      ))
        lines.push(line);
    }
  }
  return lines;
}

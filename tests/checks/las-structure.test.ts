import { describe, expect, test } from 'vitest';
import { rulesById, structureRules } from '../../src/checks/las-rules/structure-rules.js';
import { lasStructure } from '../../src/checks/las-structure.js';
import type { FormatIssue } from '../../src/cloud/format-issue.js';
import { fileOf, judge } from './judge.js';

// What each rule is, and that every rule has a file that breaks it: tests/test-clouds/mutator.test.ts. Here: how findings are
// weighed. The clauses are those of LAS 1.4 R16 and 1.5 R00 (ASPRS), the LASzip specification and COPC 1.0.

const issue = (rule: FormatIssue['rule'], more: Partial<FormatIssue> = {}): FormatIssue => ({
  rule,
  offset: 6,
  found: 'a',
  expected: 'b',
  text: 'something is odd',
  ...more,
});

function judged(formatIssues: FormatIssue[], options: Record<string, unknown> = {}, minor = 4) {
  const file = { ...fileOf('tile.las', 0, { header: { versionMinor: minor } }), formatIssues };
  return judge(lasStructure, options, {}, { files: [file] });
}

describe('weighing', () => {
  test('nothing odd: a pass that says how much was looked at', () => {
    const verdict = judged([]);
    expect(verdict.state).toBe('pass');
    expect(verdict.measured).toMatchObject({ errors: { value: 0 }, warnings: { value: 0 } });
    expect(verdict.summary).toBe('0 errors and 0 warnings in 1 file.');
  });

  test('an error fails, and its finding names rule, file, byte, found, expected and clause', () => {
    const verdict = judged([issue('encoding-wkt', { found: 'bit 4 clear', expected: 'bit 4 set' })]);
    expect(verdict.state).toBe('fail');
    expect(verdict.measured.errors.value).toBe(1);
    const table = verdict.evidence.find((e) => e.kind === 'table');
    expect(table?.kind === 'table' && table.rows).toEqual([
      [
        'LAS-HDR-14',
        'error',
        'tile.las',
        6,
        'bit 4 clear',
        'bit 4 set',
        'something is odd',
        structureRules['encoding-wkt'].clause,
      ],
    ]);
  });

  test('a warning passes, unless the spec limits warnings', () => {
    // Legacy counts beside format 6 and above: forbidden by LAS 1.4, 2.4, and in everyday use.
    const everyday = [issue('count-legacy-format')];
    expect(judged(everyday).state).toBe('pass');
    expect(judged(everyday).measured.warnings.value).toBe(1);
    expect(judged(everyday, { maxWarnings: 1 }).state).toBe('pass');
    expect(judged(everyday, { maxWarnings: 0 }).state).toBe('fail');
  });

  test('what only a later version demands is a warning in an earlier file', () => {
    // "Only one Extra Bytes VLR may exist": LAS 1.5 R00, 4; 1.4 does not say so.
    expect(judged([issue('extra-bytes-repeated')], {}, 5).measured.errors.value).toBe(1);
    expect(judged([issue('extra-bytes-repeated')], {}, 4).measured.warnings.value).toBe(1);
    // "The Public Header Block may not be extended by users": LAS 1.4, 2.4.
    expect(judged([issue('header-longer')], {}, 4).state).toBe('fail');
    expect(judged([issue('header-longer')], {}, 2).state).toBe('pass');
  });

  test('a rule both sides accept is neither counted nor listed', () => {
    const verdict = judged([issue('encoding-wkt'), issue('creation-day')], { accept: ['LAS-HDR-14'] });
    expect([verdict.state, verdict.measured.errors.value, verdict.measured.warnings.value]).toEqual(['pass', 0, 1]);
    expect(() => judged([], { accept: ['LAS-HDR-99'] })).toThrow(/LAS-HDR-99|accept/);
  });

  test('thousands of breaches are counted, some are listed, errors first', () => {
    const many = Array.from({ length: 3000 }, (_, i) => issue('vlr-reserved', { offset: i }));
    const verdict = judged([...many, issue('vlr-count')]);
    expect(verdict.measured.warnings.value).toBe(3000);
    const table = verdict.evidence.find((e) => e.kind === 'table');
    const rows = table?.kind === 'table' ? table.rows : [];
    expect(rows).toHaveLength(6);
    expect(rows[0][0]).toBe('LAS-VLR-01');
    expect(table?.title).toContain('6 of 3001');
  });
});

describe('faults', () => {
  const faulty = (facts: { code: string; rule?: string; offset?: number }, formatIssues: FormatIssue[] = []) => {
    const file = {
      ...fileOf('tile.laz', 0, { fault: 'it is broken' }),
      faultFacts: { what: 'it is broken', where: 'tile.laz', ...facts },
      formatIssues,
    };
    return judge(lasStructure, {}, {}, { files: [file] });
  };

  test('a fault that breaks a rule is a finding, once', () => {
    const chunk = { code: 'laz-chunk-damaged', rule: 'laz-chunk', offset: 4711 };
    const verdict = faulty(chunk);
    expect([verdict.state, verdict.measured.errors.value]).toEqual(['fail', 1]);
    expect(faulty(chunk, [issue('laz-chunk')]).measured.errors.value).toBe(1);
  });

  test('a fault of access says nothing of the structure: undetermined', () => {
    const verdict = faulty({ code: 'file-unreadable' });
    expect(verdict.state).toBe('undetermined');
    expect(verdict.summary).toContain('1 file could not be tested (tile.laz)');
  });

  test('coordinates in degrees are no matter of the format', () => {
    expect(faulty({ code: 'geographic-coordinates' }).state).toBe('pass');
  });
});

describe('the table of rules', () => {
  test('ids are unique, of our own kind, and every rule names its clause and speaks in one sentence', () => {
    const rules = rulesById();
    expect(new Set(rules.map(({ id }) => id)).size).toBe(rules.length);
    expect(rules).toHaveLength(Object.keys(structureRules).length);
    for (const { id, clause, text, versions } of rules) {
      expect(id).toMatch(/^(LAS-(HDR|VLR|EXB|CRS)|USGS-WKT|LAZ|COPC)-\d\d$/);
      expect(clause.length, id).toBeGreaterThan(8);
      expect(text, id).toMatch(/^[A-Z].*[^.]\.$/);
      expect(versions, id).toMatch(/^1\.\d( to 1\.\d)?$/);
    }
  });

  test('numbers of a group run from 1 without a gap', () => {
    const groups = new Map<string, number[]>();
    for (const { id } of rulesById()) {
      const [, group, number] = /^(.*)-(\d\d)$/.exec(id) as RegExpExecArray;
      groups.set(group, [...(groups.get(group) ?? []), Number(number)]);
    }
    for (const [group, numbers] of groups) expect(numbers, group).toEqual(numbers.map((_, i) => i + 1));
  });
});

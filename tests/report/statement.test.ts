import { readFileSync } from 'node:fs';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, test } from 'vitest';
import { compareReports, comparisonText } from '../../src/report/compare.js';
import { comparisonHtml } from '../../src/report/compare-page.js';
import { consoleSummary } from '../../src/report/console.js';
import { csvFiles } from '../../src/report/csv.js';
import { reportHtml } from '../../src/report/html.js';
import { reportJson } from '../../src/report/json.js';
import { reportJUnit } from '../../src/report/junit.js';
import { reportMarkdown } from '../../src/report/markdown.js';
import type { AccuracyStatement, Report } from '../../src/report/model.js';
import { statementConditions, statementSources } from '../../src/report/statement.js';
import { everyElement, readMarkup } from './markup-reader.js';
import { HOSTILE, quayRoad } from './sample.js';

const STATEMENT: AccuracyStatement = {
  standard: 'asprs-2023',
  title: 'Positional Accuracy Standards',
  sentence: 'This data set was tested as required. RMSE_V = 1.42 cm using the reduced number of checkpoints.',
  claimed: false,
  class: '1.5 cm RMSE_V Vertical Accuracy Class',
  count: { found: 24, asked: 30, met: false },
  spread: { leastShare: 0.125, askedShare: 0.2, spacing: 31.5, askedSpacing: 42.25, met: false },
  departures: ['24 check points where 30 are required.'],
  remarks: ['VVA was not tested.'],
  sources: [
    { what: 'class', source: 'clause 7.4', mark: 'read-T' },
    { what: 'wording', source: 'clause 7.15', mark: 'memory' },
  ],
};

function stated(statement: AccuracyStatement = STATEMENT): Report {
  const report = quayRoad();
  report.requirements[0].statement = statement;
  return report;
}

describe('accuracy statement in the report', () => {
  test('its conditions in words', () => {
    expect(statementConditions(STATEMENT)).toEqual([
      'smallest class met: 1.5 cm RMSE_V Vertical Accuracy Class',
      'too few check points: 24, 30 required',
      'not distributed as required: at least 12.50 % in each quarter, 20.00 % required; 31.500 m apart or more, 42.250 m required',
    ]);
    const corridor = { leastShare: 0.25, askedShare: 0.2, spacing: 31.5, askedSpacing: null, met: true };
    const count = { found: 30, asked: 30, met: true };
    expect(statementConditions({ ...STATEMENT, class: null, count, spread: corridor })).toEqual([
      'enough check points: 30, 30 required',
      'distributed as required: at least 25.00 % in each quarter, 20.00 % required',
    ]);
    const unknown = { leastShare: null, askedShare: 0.2, spacing: null, askedSpacing: null, met: null };
    expect(statementConditions({ ...STATEMENT, spread: unknown })[2]).toBe('spread of the check points not known');
  });

  test('each source says how far it can be trusted', () => {
    expect(statementSources(STATEMENT)).toEqual([
      'class: clause 7.4 (seen in a transcript)',
      'wording: clause 7.15 (from memory, to be verified)',
    ]);
  });

  test('report.json holds it in the order of the model, and its schema takes it', () => {
    const schema = JSON.parse(readFileSync(new URL('../../specs/report.schema.json', import.meta.url), 'utf8'));
    const validate = new Ajv2020({ allErrors: true, strict: true, allowUnionTypes: true }).compile(schema);
    const read = JSON.parse(reportJson(stated()));
    validate(read);
    expect(validate.errors ?? []).toEqual([]);
    expect(Object.keys(read.requirements[0].statement)).toEqual(Object.keys(STATEMENT));
    expect(read.requirements[0].statement).toEqual(STATEMENT);
    read.requirements[0].statement.sources[0].mark = 'hearsay';
    expect(validate(read)).toBe(false);
  });

  test('the terminal shows the sentence and its conditions, of a requirement that is met too', () => {
    const flat = consoleSummary(stated()).replace(/\s+/g, ' ');
    expect(flat).toContain(`"${STATEMENT.sentence}"`);
    expect(flat).toContain('too few check points: 24, 30 required;');
    expect(consoleSummary(quayRoad())).not.toContain('check points: 24');
  });

  test('Markdown quotes it, with remarks, and each source once however many statements rest on it', () => {
    const report = stated();
    report.requirements[1].statement = STATEMENT;
    const text = reportMarkdown(report);
    expect(text).toContain('## Accuracy statements');
    expect(text).toContain('> This data set was tested as required. RMSE\\_V = 1.42 cm');
    for (const line of ['VVA was not tested.', 'too few check points: 24, 30 required'])
      expect(text).toContain(`- ${line}`);
    expect(text.split('wording: clause 7.15')).toHaveLength(2);
    expect(reportMarkdown(quayRoad())).not.toContain('Accuracy statements');
  });

  test('the page quotes it in the part of its requirement', () => {
    const page = everyElement(readMarkup(reportHtml(stated()), 'html'));
    const quotes = page.filter(({ tag }) => tag === 'blockquote');
    expect(quotes).toHaveLength(1);
    expect(quotes[0].text).toBe(STATEMENT.sentence);
    const lines = page.filter(({ tag }) => tag === 'li').map(({ text }) => text);
    for (const line of [...STATEMENT.remarks, ...statementSources(STATEMENT)]) expect(lines).toContain(line);
  });

  test('CSV has a line for it, JUnit quotes it, of a requirement that is met too', () => {
    const table = csvFiles(stated())
      .find(({ name }) => name === 'statements.csv')!
      .text.split('\r\n');
    expect(table[0]).toMatch(/^requirement,standard,title,class,claimed,check points,check points required,/);
    expect(table[1]).toContain(
      'asprs-2023,Positional Accuracy Standards,1.5 cm RMSE_V Vertical Accuracy Class,false,24,30',
    );
    expect(table[1]).toContain(STATEMENT.sentence);
    expect(table).toHaveLength(3);
    expect(
      csvFiles(quayRoad())
        .find(({ name }) => name === 'statements.csv')!
        .text.split('\r\n'),
    ).toHaveLength(2);
    const junit = reportJUnit(stated());
    expect(junit).toContain(STATEMENT.sentence);
    expect(junit).toContain('too few check points: 24, 30 required');
    expect(reportJUnit(quayRoad())).not.toContain('check points: 24');
  });

  test('a comparison states when another class is met and the verdict is the same', () => {
    const before = stated();
    const after = stated({ ...STATEMENT, class: '1.0 cm class', claimed: true });
    before.requirements[0].verdict = 'pass';
    after.requirements[0].verdict = 'pass';
    const change = 'accuracy statement: 1.5 cm RMSE_V Vertical Accuracy Class, not claimed before, 1.0 cm class now';
    const flat = comparisonText(compareReports(before, after)).replace(/\s+/g, ' ');
    expect(flat).toContain('= Met as before, with another accuracy statement (1)');
    expect(flat).toContain(change);
    expect(comparisonText(compareReports(before, before))).not.toContain('accuracy statement');
    const lost = comparisonText(compareReports(before, quayRoad())).replace(/\s+/g, ' ');
    expect(lost).toContain('not claimed before, none now');
    const page = everyElement(readMarkup(comparisonHtml(compareReports(before, after)), 'html'));
    expect(page.filter(({ tag, text }) => tag === 'div' && text === change)).toHaveLength(1);
  });

  test('hostile names in it stay text', () => {
    const hostile = { ...STATEMENT, remarks: [HOSTILE.file, HOSTILE.pipe], sentence: HOSTILE.wkt };
    const page = everyElement(readMarkup(reportHtml(stated(hostile)), 'html'));
    expect(page.filter(({ tag }) => tag === 'img')).toHaveLength(0);
    expect(page.filter(({ tag }) => tag === 'blockquote')[0].text).toBe(HOSTILE.wkt);
    expect(reportMarkdown(stated(hostile))).not.toContain('<script>');
  });
});

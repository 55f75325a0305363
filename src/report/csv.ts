import { location } from '../report-shape/evidence.js';
import { file, finding, pass, passPair, surveyPoint, surveyPointPass } from '../report-shape/lines.js';
import type { ObjectShape } from '../report-shape/shape.js';
import { section } from '../report-shape/stationing.js';
import { type CsvValue, csvColumns } from './csv-columns.js';
import { figuresWithLimits, figuresWithoutLimits } from './figures.js';
import { tidyNumber } from './json.js';
import type { Report } from './model.js';
import { printable } from './printable.js';
import { adviceLines, className } from './wording.js';

/**
 * The tables of the report as CSV files (RFC 4180): the name and the text of each file. Each begins with a header line. Units
 * are those of report.json; where they differ from line to line, a column names them.
 */
export function csvFiles(report: Report): { name: string; text: string }[] {
  return [
    { name: 'requirements.csv', text: csv(REQUIREMENT_COLUMNS, requirementRows(report)) },
    { name: 'figures.csv', text: csv(FIGURE_COLUMNS, figureRows(report)) },
    { name: 'statements.csv', text: csv(STATEMENT_COLUMNS, statementRows(report)) },
    { name: 'locations.csv', text: locationTable(report) },
    { name: 'survey-points.csv', text: surveyTable(report) },
    { name: 'pass-pairs.csv', text: table(passPair, report.passPairs) },
    { name: 'passes.csv', text: table(pass, report.passes) },
    { name: 'classes.csv', text: csv(['class', 'meaning', 'points'], classRows(report)) },
    { name: 'returns.csv', text: csv(['kind', 'number', 'points'], returnRows(report)) },
    { name: 'residuals.csv', text: csv(RESIDUAL_COLUMNS, residualRows(report)) },
    { name: 'histograms.csv', text: csv(HISTOGRAM_COLUMNS, histogramRows(report)) },
    { name: 'series.csv', text: csv(SERIES_COLUMNS, seriesRows(report)) },
    { name: 'files.csv', text: table(file, report.files) },
    { name: 'findings.csv', text: table(finding, report.findings) },
    ...(report.sections ? [{ name: 'sections.csv', text: table(section, report.sections) }] : []),
    ...evidenceTables(report),
  ];
}

/**
 * The text of one CSV file: CRLF line ends, fields quoted where RFC 4180 requires it, numbers as in report.json, null as an
 * empty field. Names in a delivery come from strangers, so text that a spreadsheet would run as a formula (it begins with
 * = + - @, tab or carriage return and is not a number) gets an apostrophe in front.
 */
export function csv(columns: readonly string[], rows: readonly (readonly CsvValue[])[]): string {
  return [columns, ...rows].map((row) => `${row.map(field).join(',')}\r\n`).join('');
}

function field(value: CsvValue): string {
  if (value === null || value === undefined) return '';
  if (typeof value === 'boolean') return value ? 'true' : 'false';
  if (typeof value === 'number') return String(tidyNumber(value) ?? '');
  const shown = value.split('\r\n').map(printable).join('\r\n');
  const text = /^[=+\-@\t\r]/.test(shown) && !/^[+-]?\d+(\.\d+)?$/.test(shown) ? `'${shown}` : shown;
  return /[",\r\n]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text;
}

const REQUIREMENT_COLUMNS = [
  'id',
  'check',
  'title',
  'level',
  'decision',
  'zone',
  'verdict',
  'metric',
  'measured',
  'limit',
  'sense',
  'unit',
  'summary',
  'advice',
];

/** One line for each figure that has a limit; one line for a requirement without such a figure. */
function requirementRows(report: Report): CsvValue[][] {
  return report.requirements.flatMap((r) => {
    const start = [r.id, r.check, r.title, r.level, r.decision, r.zone, r.verdict];
    const end = [r.summary, adviceLines(r).join(' ')];
    const pairs = figuresWithLimits(r);
    if (pairs.length === 0) return [[...start, null, null, null, null, null, ...end]];
    return pairs.map((pair) => [...start, pair.name, pair.measured, pair.limit, pair.sense, pair.unit, ...end]);
  });
}

const FIGURE_COLUMNS = ['requirement', 'metric', 'measured', 'limit', 'sense', 'unit'];

/** Every figure of every requirement, with a limit or without. */
function figureRows(report: Report): CsvValue[][] {
  return report.requirements.flatMap((r) =>
    [...figuresWithLimits(r), ...figuresWithoutLimits(r)].map((pair) => [
      r.id,
      pair.name,
      pair.measured,
      pair.limit,
      pair.sense,
      pair.unit,
    ]),
  );
}

function classRows({ delivery }: Report): CsvValue[][] {
  return delivery.classes.map((c) => [c.class, className(c.class), c.points]);
}

function returnRows({ delivery }: Report): CsvValue[][] {
  return [
    ...delivery.returns.map((r) => ['return number', r.number, r.points]),
    ...delivery.pulses.map((p) => ['returns of the pulse', p.returns, p.points]),
  ];
}

const RESIDUAL_COLUMNS = ['requirement', 'title', 'label', 'group', 'value', 'unit'];

function residualRows(report: Report): CsvValue[][] {
  return report.requirements.flatMap((r) =>
    r.residuals.flatMap(({ title, unit, items }) =>
      items.map((item) => [r.id, title, item.label, item.group, item.value, unit]),
    ),
  );
}

const HISTOGRAM_COLUMNS = ['requirement', 'title', 'from', 'to', 'unit', 'count'];

function histogramRows(report: Report): CsvValue[][] {
  return report.requirements.flatMap((r) =>
    r.histograms.flatMap(({ title, unit, edges, counts }) =>
      counts.map((count, i) => [r.id, title, edges[i], edges[i + 1], unit, count]),
    ),
  );
}

const SERIES_COLUMNS = ['requirement', 'title', 'line', 'along', 'along_unit', 'value', 'unit'];

function seriesRows(report: Report): CsvValue[][] {
  return report.requirements.flatMap((r) =>
    r.series.flatMap(({ title, unit, along, lines }) =>
      lines.flatMap(({ name, x, y }) => x.map((at, i) => [r.id, title, name, at, along.unit, y[i], unit])),
    ),
  );
}

/** Tables of evidence: each is a file, named by the numbers of its requirement and of the table in it, from 1. */
function evidenceTables(report: Report): { name: string; text: string }[] {
  return report.requirements.flatMap((r, i) =>
    r.tables.map(({ columns, rows }, k) => ({
      name: `evidence-${i + 1}-${k + 1}.csv`,
      text: csv(
        columns.map(({ key, unit }) => (unit === undefined || unit === 'count' ? key : `${key} (${unit})`)),
        rows,
      ),
    })),
  );
}

const STATEMENT_COLUMNS = [
  'requirement',
  'standard',
  'title',
  'class',
  'claimed',
  'check points',
  'check points required',
  'least share of a quarter',
  'share required',
  'spacing',
  'spacing required',
  'spread met',
  'statement',
  'departures',
];

/** Accuracy statements, of requirements that name a standard. */
function statementRows(report: Report): CsvValue[][] {
  return report.requirements.flatMap(({ id, statement: s }) =>
    s
      ? [
          [
            ...[id, s.standard, s.title, s.class, s.claimed, s.count.found, s.count.asked],
            ...[s.spread.leastShare, s.spread.askedShare, s.spread.spacing, s.spread.askedSpacing, s.spread.met],
            ...[s.sentence, s.departures.join(' ')],
          ],
        ]
      : [],
  );
}

/** One line for each place of each requirement. */
function locationTable(report: Report): string {
  const { names, fields } = csvColumns(location);
  const rows = report.requirements.flatMap((r) => r.locations.map((l) => [r.id, r.verdict, ...fields(l)]));
  return csv(['requirement', 'verdict', ...names], rows);
}

/** One line for the point as a whole (without a pass), then one for each pass. */
function surveyTable(report: Report): string {
  const point = csvColumns(surveyPoint, ['id', 'role', 'status']);
  const one = csvColumns(surveyPointPass);
  const names = [...point.names, ...one.names.map((name) => (name === 'pass' ? name : `pass_${name}`))];
  const rows = report.surveyPoints.flatMap((p) => {
    const start = point.fields(p);
    return [[...start, ...one.names.map(() => null)], ...p.perPass.map((entry) => [...start, ...one.fields(entry)])];
  });
  return csv(names, rows);
}

/** A table with one line for each object, its columns those of the declaration of the object. */
function table(shape: ObjectShape, objects: readonly object[]): string {
  const { names, fields } = csvColumns(shape);
  return csv(names, objects.map(fields));
}

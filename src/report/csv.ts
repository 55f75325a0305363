import { figuresWithLimits, figuresWithoutLimits } from './figures.js';
import { tidyNumber } from './json.js';
import type { Report } from './model.js';
import { adviceLines, className } from './wording.js';

type Value = string | number | boolean | null | undefined;

/** The tables of the report as CSV files (RFC 4180), one a table, each with a header line. SI units, as in report.json. */
export function csvFiles(report: Report): { name: string; text: string }[] {
  return [
    { name: 'requirements.csv', text: csv(REQUIREMENT_COLUMNS, requirementRows(report)) },
    { name: 'figures.csv', text: csv(FIGURE_COLUMNS, figureRows(report)) },
    { name: 'statements.csv', text: csv(STATEMENT_COLUMNS, statementRows(report)) },
    { name: 'locations.csv', text: csv(LOCATION_COLUMNS, locationRows(report)) },
    { name: 'survey-points.csv', text: csv(SURVEY_COLUMNS, surveyRows(report)) },
    { name: 'pass-pairs.csv', text: csv(PAIR_COLUMNS, pairRows(report)) },
    {
      name: 'passes.csv',
      text: csv(
        ['pass', 'points'],
        report.passes.map((p) => [p.pass, p.points]),
      ),
    },
    { name: 'classes.csv', text: csv(['class', 'meaning', 'points'], classRows(report)) },
    { name: 'returns.csv', text: csv(['kind', 'number', 'points'], returnRows(report)) },
    { name: 'residuals.csv', text: csv(RESIDUAL_COLUMNS, residualRows(report)) },
    { name: 'histograms.csv', text: csv(HISTOGRAM_COLUMNS, histogramRows(report)) },
    { name: 'series.csv', text: csv(SERIES_COLUMNS, seriesRows(report)) },
    { name: 'files.csv', text: csv(FILE_COLUMNS, fileRows(report)) },
    {
      name: 'findings.csv',
      text: csv(
        FINDING_COLUMNS,
        report.findings.map((f) => [f.severity, f.code, f.file, f.text]),
      ),
    },
    ...evidenceTables(report),
  ];
}

/**
 * One CSV text: CRLF line ends, fields quoted where RFC 4180 asks for it, null as an empty field. Text that a
 * spreadsheet would run as a formula (it begins with = + - @, tab or carriage return and is no number) gets an
 * apostrophe in front: names in a delivery come from strangers.
 */
export function csv(columns: readonly string[], rows: readonly (readonly Value[])[]): string {
  return [columns, ...rows].map((row) => `${row.map(field).join(',')}\r\n`).join('');
}

function field(value: Value): string {
  if (value === null || value === undefined) return '';
  if (typeof value === 'boolean') return value ? 'true' : 'false';
  if (typeof value === 'number') return String(tidyNumber(value) ?? '');
  const text = /^[=+\-@\t\r]/.test(value) && !/^[+-]?\d+(\.\d+)?$/.test(value) ? `'${value}` : value;
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

/** One line for each figure with a limit, or one line where there is none. */
function requirementRows(report: Report): Value[][] {
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
function figureRows(report: Report): Value[][] {
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

function classRows({ delivery }: Report): Value[][] {
  return delivery.classes.map((c) => [c.class, className(c.class), c.points]);
}

function returnRows({ delivery }: Report): Value[][] {
  return [
    ...delivery.returns.map((r) => ['return number', r.number, r.points]),
    ...delivery.pulses.map((p) => ['returns of the pulse', p.returns, p.points]),
  ];
}

const RESIDUAL_COLUMNS = ['requirement', 'title', 'label', 'group', 'value', 'unit'];

function residualRows(report: Report): Value[][] {
  return report.requirements.flatMap((r) =>
    r.residuals.flatMap(({ title, unit, items }) =>
      items.map((item) => [r.id, title, item.label, item.group, item.value, unit]),
    ),
  );
}

const HISTOGRAM_COLUMNS = ['requirement', 'title', 'from', 'to', 'unit', 'count'];

function histogramRows(report: Report): Value[][] {
  return report.requirements.flatMap((r) =>
    r.histograms.flatMap(({ title, unit, edges, counts }) =>
      counts.map((count, i) => [r.id, title, edges[i], edges[i + 1], unit, count]),
    ),
  );
}

const SERIES_COLUMNS = ['requirement', 'title', 'line', 'along', 'along_unit', 'value', 'unit'];

function seriesRows(report: Report): Value[][] {
  return report.requirements.flatMap((r) =>
    r.series.flatMap(({ title, unit, along, lines }) =>
      lines.flatMap(({ name, x, y }) => x.map((at, i) => [r.id, title, name, at, along.unit, y[i], unit])),
    ),
  );
}

/** Tables of evidence, each a file named after the ordinals of its requirement and of itself. */
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
  'check points asked',
  'least share of a quarter',
  'share asked',
  'spacing',
  'spacing asked',
  'spread met',
  'statement',
  'departures',
];

/** Accuracy statements, of requirements that name a standard. */
function statementRows(report: Report): Value[][] {
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

const LOCATION_COLUMNS = ['requirement', 'verdict', 'x', 'y', 'z', 'file', 'pass', 'value', 'unit', 'note'];

function locationRows(report: Report): Value[][] {
  return report.requirements.flatMap((r) =>
    r.locations.map((l) => [r.id, r.verdict, l.x, l.y, l.z, l.file, l.pass, l.value, l.unit, l.note]),
  );
}

const SURVEY_COLUMNS = [
  'id',
  'role',
  'status',
  'x',
  'y',
  'z',
  'dz',
  'dx',
  'dy',
  'n',
  'method',
  'pass',
  'pass_dz',
  'pass_n',
];

/** One line for the point as a whole (pass empty), then one for each pass. */
function surveyRows(report: Report): Value[][] {
  return report.surveyPoints.flatMap((p) => {
    const start = [p.id, p.role, p.status, p.x, p.y, p.z, p.dz, p.dx, p.dy, p.n, p.method];
    return [[...start, null, null, null], ...p.perPass.map((entry) => [...start, entry.pass, entry.dz, entry.n])];
  });
}

const PAIR_COLUMNS = [
  'a',
  'b',
  'cells',
  'mean_dz',
  'rms_dz',
  'max_dz',
  'shift_x',
  'shift_y',
  'shift_z',
  'shift_x_std',
  'shift_y_std',
  'shift_z_std',
  'observable_x',
  'observable_y',
  'observable_z',
];

function pairRows(report: Report): Value[][] {
  return report.passPairs.map((p) => [
    p.a,
    p.b,
    p.cells,
    p.meanDz,
    p.rmsDz,
    p.maxDz,
    ...[0, 1, 2].map((i) => p.shift[i]),
    ...[0, 1, 2].map((i) => p.shiftStd[i]),
    ...[0, 1, 2].map((i) => p.observable[i]),
  ]);
}

const FILE_COLUMNS = ['file', 'bytes', 'packing', 'version', 'point_format', 'points', 'fault'];

function fileRows(report: Report): Value[][] {
  return report.files.map((f) => [f.file, f.bytes, f.packing, f.version, f.pointFormat, f.points, f.fault]);
}

const FINDING_COLUMNS = ['severity', 'code', 'file', 'text'];

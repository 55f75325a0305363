import { type DeliveryFacts, middleOf } from '../delivery/delivery.js';
import { fact } from '../measure/fact-types.js';
import type { Check, Evidence, JudgeContext, Location, Requirement, Verdict } from './contract/check.js';
import { atMost, limitsOf, type Metrics, metric, NONE_ALLOWED } from './contract/metric.js';
import { figure, plural, undetermined } from './contract/wording.js';
import { fieldsToMeasure, findingsOf, isUntested, type StructureFinding } from './las-rules/findings.js';
import { rulesById } from './las-rules/structure-rules.js';

export interface LasStructureOptions {
  wkt: 'las' | 'usgs';
  accept: string[];
  maxWarnings?: number;
}

/** Breaches of one rule in one file that are listed; all of them are counted. */
const LISTED_A_RULE = 5;
/** Lines of the table in all. */
const LISTED = 4000;

/**
 * What only the points can show: asked for where a file states something to compare with, and where points are compressed
 * in layers: damage is found in those that are decoded.
 */
const needs = (_requirement: Requirement<LasStructureOptions>, { delivery: { files } }: JudgeContext) => {
  const fields = files
    .map((file) => ({ file: file.index, fields: fieldsToMeasure(file) }))
    .filter((entry) => entry.fields.length > 0);
  const copc = files.some((file) => file.copc !== null);
  const layered = files.some(({ format, header }) => format !== 'LAS' && (header?.pointFormat ?? 0) >= 6);
  return {
    structure:
      copc || layered || fields.length > 0
        ? fact('structure-facts', { fields, ...(layered ? { everyLayer: true } : {}) })
        : undefined,
    recounts: copc ? fact('header-recount', null) : undefined,
  };
};

/** The figures, and the limits they are held against. */
const metrics = {
  errors: metric('errors', 'count', NONE_ALLOWED),
  warnings: metric('warnings', 'count', atMost('maxWarnings')),
} satisfies Metrics;

export const lasStructure = {
  id: 'las-structure',
  title: 'Compliance with the LAS, LAZ and COPC specifications',
  why: 'Other programs read a file by the letter of its format: what is wrong in a header or a record is lost, misplaced or refused there, long after delivery.',
  sources: [
    { standard: 'LAS 1.4 R16', note: 'also for 1.0 to 1.3, whose own texts were followed from memory' },
    { standard: 'LAS 1.5 R00' },
    { standard: 'LASzip specification', note: 'LAZ record, chunk table, chunks' },
    { standard: 'COPC 1.0' },
    { standard: 'USGS Lidar Base Specification 2025 rev. A', note: 'for wkt: usgs only' },
  ],
  schema: {
    properties: {
      wkt: {
        type: 'string',
        enum: ['las', 'usgs'],
        default: 'las',
        description:
          'How strictly WKT coordinate systems are read: `las` as the format asks, `usgs` as the USGS Lidar Base Specification asks beyond it (compound system, EPSG codes on all parts, geoid in the name, no blanks).',
      },
      accept: {
        type: 'array',
        items: { type: 'string', enum: rulesById().map(({ id }) => id) },
        uniqueItems: true,
        default: [],
        description: 'Ids of rules whose breach both sides accept: neither counted nor listed.',
      },
      maxWarnings: {
        type: 'integer',
        minimum: 0,
        description: 'Most warnings allowed in the whole delivery; without it warnings are listed and fail nothing.',
      },
    },
    required: [],
  },
  wholeFiles: true,
  metrics,
  quality: 'DQ_FormatConsistency',

  needs,

  explain({ wkt, accept, maxWarnings }: Requirement<LasStructureOptions>) {
    const strict = wkt === 'usgs' ? ', and of the USGS Lidar Base Specification for the coordinate system' : '';
    const but = accept.length > 0 ? `, ${accept.join(', ')} excepted` : '';
    const most = maxWarnings === undefined ? 'warnings are listed' : `at most ${plural(maxWarnings, 'warning')}`;
    return `Every file must follow the rules of LAS, LAZ and COPC${strict}${but}: no errors, and ${most}. Every layer of compressed points is decoded; LAZ has no checksums, so damage is found where a layer does not end with its last point or the points contradict the header.`;
  },

  judge(facts, requirement, { delivery }) {
    if (delivery.files.length === 0) return undetermined('There is no file to look at.');
    const structure = new Map(
      facts.structure?.map((one) => [one.file, delivery.sample === null ? one : { ...one, extremes: [] }]),
    );
    // A sample has not all values: what headers and records say of all points cannot be compared with it.
    const recounts = new Map(delivery.sample === null ? facts.recounts?.map((one) => [one.file, one]) : []);
    const findings: StructureFinding[] = [];
    const untested: string[] = [];
    for (const file of delivery.files) {
      const all = findingsOf(
        file,
        structure.get(file.index) ?? null,
        recounts.get(file.index) ?? null,
        requirement.wkt === 'usgs',
      );
      if (isUntested(file, all)) untested.push(file.name);
      for (const one of all) if (!requirement.accept.includes(one.rule.id)) findings.push(one);
    }
    return verdictOf(findings, untested, requirement, delivery);
  },

  appendix: () => [
    'Rules (id; LAS versions; severity; clause):',
    ...rulesById().map(({ id, versions, severity, from, clause, text }) => {
      const since = from === undefined ? severity : `${severity} from 1.${from} on, else warning`;
      return `  ${id.padEnd(11)} ${text} (${versions}; ${since}; ${clause})`;
    }),
  ],
} satisfies Check<LasStructureOptions, typeof needs>;

function verdictOf(
  findings: readonly StructureFinding[],
  untested: readonly string[],
  requirement: Requirement<LasStructureOptions>,
  delivery: DeliveryFacts,
): Verdict {
  const { maxWarnings } = requirement;
  const errors = findings.filter((f) => f.severity === 'error').length;
  const warnings = findings.length - errors;
  const tooMany = maxWarnings !== undefined && warnings > maxWarnings;
  const state = errors > 0 || tooMany ? 'fail' : untested.length > 0 ? 'undetermined' : 'pass';
  return {
    state,
    summary: summaryOf(findings, errors, warnings, untested, delivery.files.length),
    measured: { errors: figure(errors, 'count'), warnings: figure(warnings, 'count') },
    limits: limitsOf(metrics, requirement),
    evidence: evidenceOf(findings),
    advice:
      errors > 0
        ? [
            'Re-export the files with software that complies with the specification; each line below cites the byte and the clause.',
          ]
        : [],
  };
}

function summaryOf(
  findings: readonly StructureFinding[],
  errors: number,
  warnings: number,
  untested: readonly string[],
  files: number,
): string {
  const counts = `${plural(errors, 'error')} and ${plural(warnings, 'warning')} in ${plural(files, 'file')}`;
  const first = findings.find((f) => f.severity === 'error') ?? findings[0];
  const example = first ? `, such as ${first.rule.id} in ${first.file.name}: ${first.text}` : '';
  const rest =
    untested.length > 0
      ? ` ${plural(untested.length, 'file')} could not be tested (${untested.slice(0, 3).join(', ')}${untested.length > 3 ? ' ...' : ''}).`
      : '';
  return `${counts}${example}.${rest}`;
}

function evidenceOf(findings: readonly StructureFinding[]): Evidence[] {
  if (findings.length === 0) return [];
  const listed = new Map<string, number>();
  const shown = [...findings]
    .sort((a, b) => Number(a.severity === 'warning') - Number(b.severity === 'warning'))
    .filter(({ rule, file }) => {
      const key = `${file.index} ${rule.id}`;
      listed.set(key, (listed.get(key) ?? 0) + 1);
      return (listed.get(key) as number) <= LISTED_A_RULE;
    })
    .slice(0, LISTED);
  const title =
    shown.length === findings.length ? 'Rules broken' : `Rules broken: ${shown.length} of ${findings.length} findings`;
  return [
    {
      kind: 'table',
      title,
      columns: [
        { key: 'rule', title: 'rule' },
        { key: 'severity', title: 'severity' },
        { key: 'file', title: 'file' },
        { key: 'byte', title: 'byte' },
        { key: 'found', title: 'found' },
        { key: 'expected', title: 'expected' },
        { key: 'text', title: 'what is wrong' },
        { key: 'clause', title: 'clause' },
      ],
      rows: shown.map(({ rule, severity, file, offset, found, expected, text }) => [
        rule.id,
        severity,
        file.name,
        offset,
        found,
        expected,
        text,
        rule.clause,
      ]),
    },
    { kind: 'locations', title: 'Files with errors', items: placesOf(findings) },
  ];
}

function placesOf(findings: readonly StructureFinding[]): Location[] {
  const byFile = new Map<number, StructureFinding[]>();
  for (const finding of findings) {
    if (finding.severity !== 'error') continue;
    byFile.set(finding.file.index, [...(byFile.get(finding.file.index) ?? []), finding]);
  }
  return [...byFile.values()].flatMap((list) => {
    const middle = middleOf(list[0].file);
    // A header that is wrong in its extent has no middle to show.
    if (middle === null || !Number.isFinite(middle.x) || !Number.isFinite(middle.y)) return [];
    const ids = [...new Set(list.map(({ rule }) => rule.id))];
    const note = `breaks ${ids.slice(0, 5).join(', ')}${ids.length > 5 ? ' and others' : ''}`;
    return [{ ...middle, file: list[0].file.name, value: list.length, unit: 'count' as const, note }];
  });
}

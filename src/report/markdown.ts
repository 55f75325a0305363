import { figuresWithLimits } from './figures.js';
import type { Report, RequirementResult } from './model.js';
import { clean } from './printable.js';
import { coordinate, quantity } from './quantity.js';
import { statementConditions, statementSources } from './statement.js';
import {
  adviceLines,
  countOf,
  deliveryWords,
  faultWords,
  requirementWords,
  stationWords,
  verdictSentence,
} from './wording.js';

const FILES_SHOWN = 20;

/** The report as short Markdown text: verdict, one table of requirements, advice, accuracy statements, unreadable files. */
export function reportMarkdown(report: Report): string {
  const lines = [
    `# ${deliveryWords(report.verdict).shape} ${deliveryWords(report.verdict).word}: ${plain(report.spec.title)}`,
    '',
    plain(verdictSentence(report)),
    '',
    '| Verdict | Requirement | Measured | Limit |',
    '| --- | --- | ---: | ---: |',
    ...report.requirements.map(tableRow),
    '',
  ];
  const unsettled = report.requirements.filter((r) => r.verdict === 'fail' || r.verdict === 'undetermined');
  for (const requirement of unsettled) for (const line of detail(requirement)) lines.push(line);
  for (const line of statements(report)) lines.push(line);
  const faulty = report.files.filter((file) => file.fault !== null);
  if (faulty.length > 0) {
    lines.push(
      '## Files not fully read',
      '',
      ...faulty.slice(0, FILES_SHOWN).map((file) => `- ${plain(file.file)}: ${plain(faultWords(file))}`),
    );
    if (faulty.length > FILES_SHOWN) lines.push(`- and ${countOf(faulty.length - FILES_SHOWN, 'more file')}`);
    lines.push('');
  }
  lines.push(`${report.tool.name} ${plain(report.tool.version)}, spec SHA-256 ${plain(report.spec.sha256)}`, '');
  return lines.join('\n');
}

/** The text on one line, without anything that Markdown reads as markup: punctuation is escaped (CommonMark 2.4), HTML characters are entities. */
export function plain(text: string): string {
  return (
    clean(text.replace(/[\r\n\t\u2028\u2029]+/g, ' '))
      .replace(/&/g, '&amp;')
      .replace(/</g, '&lt;')
      .replace(/>/g, '&gt;')
      .replace(/[\\`*_[\]|~#!]/g, '\\$&')
      // An address would become a link, and a name after @ would notify a person.
      .replace(/@/g, '&#64;')
      .replace(/:\/\//g, ':&#47;&#47;')
  );
}

function tableRow(requirement: RequirementResult): string {
  const words = requirementWords(requirement);
  const pairs = requirement.verdict === 'not-applicable' ? [] : figuresWithLimits(requirement);
  const measured = pairs
    .map((pair) => `${pair.label} ${pair.measuredText}`.trim())
    .map(plain)
    .join('<br>');
  const limits = pairs.map((pair) => plain(pair.limitText)).join('<br>');
  return `| ${words.shape} ${words.word} | ${plain(requirement.id)} ${plain(requirement.title)} | ${measured} | ${limits} |`;
}

function detail(requirement: RequirementResult): string[] {
  const lines = [
    `## ${requirementWords(requirement).shape} ${plain(requirement.id)}: ${plain(requirement.title)}`,
    '',
    plain(requirement.summary),
    '',
  ];
  for (const advice of adviceLines(requirement)) lines.push(`- ${plain(advice)}`);
  const worst = requirement.locations[0];
  if (worst) {
    const value = worst.value === null ? '' : `${quantity(worst.value, worst.unit)}, `;
    const station = stationWords(worst);
    const along = station === null ? '' : `, ${station}`;
    const file = worst.file === undefined ? '' : `, ${worst.file}`;
    lines.push(
      `- ${plain(`First location: ${coordinate(worst.x)} ${coordinate(worst.y)}${along}${file}: ${value}${worst.note}`)}`,
    );
  }
  lines.push('');
  return lines;
}

/** Accuracy statements, to be quoted: of all requirements that name a standard, met or not. */
function statements(report: Report): string[] {
  const stated = report.requirements.flatMap(({ id, statement }) => (statement ? [{ id, statement }] : []));
  if (stated.length === 0) return [];
  const sources = new Set(stated.flatMap(({ statement }) => statementSources(statement)));
  return [
    '## Accuracy statements',
    '',
    ...stated.flatMap(({ id, statement }) => [
      `${plain(id)}, ${plain(statement.title)}:`,
      '',
      `> ${plain(statement.sentence)}`,
      '',
      ...[...statementConditions(statement), ...statement.remarks].map((line) => `- ${plain(line)}`),
      '',
    ]),
    'Sources:',
    '',
    ...[...sources].map((line) => `- ${plain(line)}`),
    '',
  ];
}

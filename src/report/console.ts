import pc from 'picocolors';
import { figuresWithLimits } from './figures.js';
import type { Report, RequirementResult } from './model.js';
import { clean } from './printable.js';
import { bytesInWords, coordinate, quantity } from './quantity.js';
import { statementConditions } from './statement.js';
import {
  adviceLines,
  countOf,
  deliveryWords,
  exitCodeOf,
  faultWords,
  groupDigits,
  requirementWords,
  stationWords,
  type VerdictWords,
  verdictSentence,
} from './wording.js';

export interface TerminalOptions {
  /** Width in characters; 80 unless given. */
  columns?: number;
  colour?: boolean;
}

const EXIT_MEANING = { 0: 'accepted', 1: 'rejected', 3: 'could not be fully tested' } as const;
const UNREADABLE_SHOWN = 20;

/** The width of a stream in characters, and whether to use colour on it. NO_COLOR (any value but an empty one) forbids colour. */
export function terminalOptions(
  stream: { isTTY?: boolean; columns?: number },
  environment: Record<string, string | undefined>,
): Required<TerminalOptions> {
  const forced =
    environment.FORCE_COLOR !== undefined && environment.FORCE_COLOR !== '' && environment.FORCE_COLOR !== '0';
  const refused = Boolean(environment.NO_COLOR) || environment.TERM === 'dumb';
  return { columns: stream.columns ?? 80, colour: !refused && (forced || stream.isTTY === true) };
}

/** The report as a summary for a terminal: a few lines for each requirement, with advice where it is not met; the verdict is last. */
export function consoleSummary(report: Report, options: TerminalOptions = {}): string {
  const width = Math.max(40, options.columns ?? 80);
  const paint = painter(options.colour ?? false);
  const idWidth = Math.min(
    16,
    report.requirements.reduce((most, r) => Math.max(most, clean(r.id).length), 2),
  );
  const lines = [...heading(report, width, paint), ''];
  const wordWidth = report.requirements.reduce((most, r) => Math.max(most, requirementWords(r).word.length), 0);
  for (const requirement of report.requirements)
    for (const line of requirementLines(requirement, { idWidth, wordWidth, width, paint })) lines.push(line);
  for (const line of fileLines(report, width, paint)) lines.push(line);
  for (const line of findingLines(report, width)) lines.push(line);
  const words = deliveryWords(report.verdict);
  const sentence = wrap(`${words.shape} ${verdictSentence(report)}`, width, '  ');
  lines.push('');
  for (const line of sentence) lines.push(paint.tone(words.tone, paint.bold(line)));
  const code = exitCodeOf(report.verdict);
  lines.push(paint.dim(`  Exit code ${code}: ${EXIT_MEANING[code]}.`), '');
  return lines.join('\n');
}

function heading(report: Report, width: number, paint: Painter): string[] {
  const { delivery, spec, tool } = report;
  const crs = [delivery.crs.horizontal, delivery.crs.vertical].filter((part) => part !== null).join(' + ');
  const facts = [
    countOf(delivery.files, 'file'),
    `${groupDigits(String(delivery.points))} points`,
    bytesInWords(delivery.bytes),
    crs === '' ? 'no coordinate system' : crs,
    `${countOf(report.passes.length, 'pass', 'passes')} by ${delivery.passesBy}`,
  ];
  return [
    paint.bold(`${tool.name} ${clean(tool.version)}`),
    ...wrap(`  Delivery  ${clean(facts.join(', '))}`, width, ' '.repeat(12)),
    ...wrap(
      `  Spec      ${clean(spec.title)} (${clean(spec.file)}, sha256 ${spec.sha256.slice(0, 12)})`,
      width,
      ' '.repeat(12),
    ),
  ];
}

function requirementLines(
  requirement: RequirementResult,
  { idWidth, wordWidth, width, paint }: { idWidth: number; wordWidth: number; width: number; paint: Painter },
): string[] {
  const words = requirementWords(requirement);
  const mark = `${words.shape} ${words.word.padEnd(wordWidth)}`;
  const indent = ' '.repeat(mark.length + idWidth + 4);
  const zone = requirement.zone === null ? '' : ` [${requirement.zone}]`;
  const title = wrap(
    `${mark}  ${clean(requirement.id).padEnd(idWidth)}  ${clean(requirement.title + zone)}`,
    width,
    indent,
  );
  title[0] = paint.tone(words.tone, title[0].slice(0, mark.length)) + title[0].slice(mark.length);
  const lines = [...title];
  const body = (text: string, hang = indent) => {
    for (const line of wrap(indent + clean(text), width, hang)) lines.push(line);
  };
  const figures = figuresWithLimits(requirement).map((figure) =>
    figure.measured === undefined
      ? `required: ${figure.label} ${figure.limitText}`
      : `${figure.label} ${figure.measuredText} (limit ${figure.limitText})`,
  );
  if (requirement.verdict === 'undetermined' || requirement.verdict === 'not-applicable' || figures.length === 0)
    body(requirement.summary);
  if (requirement.verdict !== 'not-applicable' && figures.length > 0) body(figures.join(', '));
  if (requirement.verdict === 'fail' || requirement.verdict === 'undetermined') {
    const worst = requirement.locations[0];
    if (worst) body(`at ${place(worst)}`, `${indent}   `);
    for (const advice of adviceLines(requirement)) body(`> ${advice}`, `${indent}  `);
  }
  const { statement } = requirement;
  if (statement) {
    body(`"${statement.sentence}"`, `${indent} `);
    body(`${statementConditions(statement).join('; ')}.`);
  }
  return lines;
}

function place(location: RequirementResult['locations'][number]): string {
  const where = [`${coordinate(location.x)} ${coordinate(location.y)}`];
  const station = stationWords(location);
  if (station !== null) where.push(station);
  if (location.file !== undefined) where.push(location.file);
  if (location.pass !== undefined) where.push(location.pass);
  const value = location.value === null ? '' : `: ${quantity(location.value, location.unit)}`;
  return `${where.join(', ')}${value}${location.note === '' ? '' : `, ${location.note}`}`;
}

function fileLines(report: Report, width: number, paint: Painter): string[] {
  const faulty = report.files.filter((file) => file.fault !== null);
  if (faulty.length === 0) return [];
  const lines = ['', paint.bold('Files not fully read')];
  for (const file of faulty.slice(0, UNREADABLE_SHOWN)) {
    for (const line of wrap(`  ${clean(file.file)}: ${clean(faultWords(file))}`, width, '    ')) lines.push(line);
  }
  if (faulty.length > UNREADABLE_SHOWN) lines.push(`  and ${countOf(faulty.length - UNREADABLE_SHOWN, 'more file')}`);
  return lines;
}

function findingLines(report: Report, width: number): string[] {
  const faulty = new Set(report.files.filter((file) => file.fault !== null).map((file) => file.file));
  const findings = report.findings.filter(
    (finding) => finding.severity !== 'note' && !(finding.file !== undefined && faulty.has(finding.file)),
  );
  if (findings.length === 0) return [];
  const lines = [''];
  for (const finding of findings.slice(0, UNREADABLE_SHOWN)) {
    const named = finding.file === undefined || finding.text.startsWith(`${finding.file}: `);
    const where = named ? '' : `${clean(finding.file!)}: `;
    for (const line of wrap(`${finding.severity}: ${where}${clean(finding.text)}`, width, '  ')) lines.push(line);
  }
  if (findings.length > UNREADABLE_SHOWN)
    lines.push(`and ${countOf(findings.length - UNREADABLE_SHOWN, 'more finding')}`);
  return lines;
}

/** The text in lines of at most `width` characters, broken at spaces. All lines but the first begin with `hang`. A word longer than a line is cut. */
export function wrap(text: string, width: number, hang: string): string[] {
  const lead = /^ */.exec(text)?.[0] ?? '';
  const lines: string[] = [];
  let line = lead;
  let empty = true;
  for (const piece of text.slice(lead.length).split(/( +)/)) {
    let word = piece;
    if (word.trim() === '') {
      if (!empty) line += word;
      continue;
    }
    if (!empty && line.length + word.length > width) {
      lines.push(line.trimEnd());
      line = hang;
    }
    while (line.length + word.length > width) {
      const room = Math.max(1, width - line.length);
      lines.push(line + word.slice(0, room));
      word = word.slice(room);
      line = hang;
    }
    line += word;
    empty = false;
  }
  lines.push(line.trimEnd());
  return lines;
}

interface Painter {
  bold(text: string): string;
  dim(text: string): string;
  tone(tone: VerdictWords['tone'], text: string): string;
}

function painter(colour: boolean): Painter {
  const colours = pc.createColors(colour);
  const tones = {
    good: colours.green,
    bad: colours.red,
    open: colours.yellow,
    advisory: colours.magenta,
    quiet: colours.dim,
  };
  return { bold: colours.bold, dim: colours.dim, tone: (tone, text) => tones[tone](text) };
}

import { readFileSync } from 'node:fs';
import { specsFolder } from '../built.js';
import { Fault } from '../fault.js';
import { compareReports, comparisonText } from '../report/compare.js';
import { comparisonHtml } from '../report/compare-page.js';
import type { Report } from '../report/model.js';
import { clean, printableJson } from '../report/printable.js';
import { writeFileAtomically } from '../report/write.js';
import { readInputFile } from '../spec/input-file.js';
import { ExitCode } from './exit-codes.js';
import type { Streams } from './io.js';

/** Prints how two reports differ, and writes the page that shows it. */
export async function compare(
  before: string,
  after: string,
  flags: { json?: boolean; html?: string },
  streams: Streams,
): Promise<ExitCode> {
  const comparison = compareReports(await readReport(before), await readReport(after));
  streams.out(
    flags.json
      ? printableJson(`${JSON.stringify(comparison, null, 2)}\n`)
      : comparisonText(comparison, streams.outTerminal.columns),
  );
  if (flags.html !== undefined) {
    await writeFileAtomically(flags.html, comparisonHtml(comparison));
    if (!flags.json) streams.out(`Page: ${clean(flags.html)}\n`);
  }
  return comparison.worse.length > 0 ? ExitCode.rejected : ExitCode.accepted;
}

/** @throws Fault where the file is not a whole report.json */
async function readReport(path: string): Promise<Report> {
  const bytes = await readInputFile(path, 'report');
  let report: unknown;
  try {
    report = JSON.parse(Buffer.from(bytes).toString('utf8'));
  } catch (error) {
    throw unreadable(path, 'this is not a readable report.json', 'Give the report.json files of two checks', error);
  }
  const version = (report as { report?: unknown } | null)?.report;
  if (version !== '1') throw unreadable(path, 'this JSON file is not a cloudassay report');
  const { Ajv2020 } = await import('ajv/dist/2020.js');
  const valid = new Ajv2020({ allowUnionTypes: true, allErrors: true }).compile<Report>(reportSchema());
  valid(report);
  // Another version may have written more than this one knows.
  const problem = valid.errors?.find(({ keyword }) => keyword !== 'additionalProperties');
  if (problem === undefined) return report as Report;
  const { instancePath, keyword, params, message } = problem;
  const place = instancePath
    .slice(1)
    .replace(/\/(\d+)(?=\/|$)/g, '[$1]')
    .replaceAll('/', '.');
  throw unreadable(
    place === '' ? path : `${path}, ${place}`,
    keyword === 'required'
      ? `"${params.missingProperty}" is missing`
      : `this does not belong into a report: ${message}`,
    'Give a report.json as cloudassay wrote it',
  );
}

function reportSchema(): object {
  return JSON.parse(readFileSync(`${specsFolder()}report.schema.json`, 'utf8'));
}

function unreadable(where: string, what: string, advice?: string, cause?: unknown): Fault {
  return new Fault({ code: 'report-unreadable', where, what, ...(advice ? { advice } : {}) }, cause);
}

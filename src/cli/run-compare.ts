import { readFile } from 'node:fs/promises';
import { Fault } from '../fault.js';
import { compareReports, comparisonText } from '../report/compare.js';
import { comparisonHtml } from '../report/compare-page.js';
import type { Report } from '../report/model.js';
import { writeFileAtomically } from '../report/write.js';
import { ExitCode } from './exit-codes.js';
import type { Streams } from './io.js';

/** The parts of a requirement that a comparison reads figures from. */
const FIGURE_PARTS = ['measured', 'limits', 'senses', 'units'] as const;

/** Prints how two reports differ, and writes the page that shows it. */
export async function compare(
  before: string,
  after: string,
  flags: { json?: boolean; html?: string },
  streams: Streams,
): Promise<ExitCode> {
  const comparison = compareReports(await readReport(before), await readReport(after));
  streams.out(
    flags.json ? `${JSON.stringify(comparison, null, 2)}\n` : comparisonText(comparison, streams.outTerminal.columns),
  );
  if (flags.html !== undefined) {
    await writeFileAtomically(flags.html, comparisonHtml(comparison));
    if (!flags.json) streams.out(`Page: ${flags.html}\n`);
  }
  return comparison.broken.length > 0 ? ExitCode.rejected : ExitCode.accepted;
}

async function readReport(path: string): Promise<Report> {
  let report: Partial<Report> | null;
  try {
    report = JSON.parse(await readFile(path, 'utf8'));
  } catch (error) {
    throw new Fault(
      {
        code: 'report-unreadable',
        where: path,
        what: 'this is not a readable report.json',
        advice: 'Give the report.json files of two checks',
      },
      error,
    );
  }
  if (report?.report !== '1' || !Array.isArray(report.requirements) || !Array.isArray(report.files)) {
    throw new Fault({ code: 'report-unreadable', where: path, what: 'this JSON file is not a cloudassay report' });
  }
  for (const [i, requirement] of report.requirements.entries()) {
    const missing = FIGURE_PARTS.find((part) => typeof requirement?.[part] !== 'object' || requirement[part] === null);
    if (missing !== undefined) {
      throw new Fault({
        code: 'report-unreadable',
        where: `${path}, requirements[${i}]`,
        what: `"${missing}" is missing`,
        advice: 'Give a report.json as cloudassay wrote it',
      });
    }
  }
  return report as Report;
}

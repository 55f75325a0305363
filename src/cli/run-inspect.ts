import { Fault } from '../fault.js';
import { formatReportText } from '../report/format-rules.js';
import { inspectionText } from '../report/inspection.js';
import { printable, printableJson } from '../report/printable.js';
import { testFormatRules } from '../run/format-rules.js';
import { type Inspection, inspect } from '../run/inspect.js';
import { ExitCode } from './exit-codes.js';
import type { InspectFlags } from './inspect-command.js';
import type { Streams } from './io.js';
import { writeManifest } from './write-manifest.js';

/** Describes the clouds, validates them against the rules of their format, or writes their manifest. */
export async function showClouds(files: string[], flags: InspectFlags, streams: Streams): Promise<ExitCode> {
  if (flags.manifest) return writeManifest(files, flags.manifest, streams);
  if (flags.rules) return showRules(files, flags, streams);
  const inspections: Inspection[] = [];
  const unreadable: string[] = [];
  for await (const outcome of inspect(files, flags.headerOnly === true, flags.timeout, flags.showQueries)) {
    if (outcome.fault !== null) {
      unreadable.push(outcome.fault);
      streams.err(`cloudassay: ${printable(outcome.fault)}\n`);
    } else {
      inspections.push(outcome.inspection);
      if (!flags.json) streams.out(inspectionText(outcome.inspection));
    }
  }
  if (flags.json) streams.out(printableJson(`${JSON.stringify(inspections, null, 2)}\n`));
  if (inspections.length === 0 && unreadable.length === 0)
    throw new Fault({ code: 'usage', where: 'inspect', what: 'no point cloud was given' });
  return unreadable.length > 0 ? ExitCode.notFullyTested : ExitCode.accepted;
}

async function showRules(files: string[], flags: InspectFlags, streams: Streams): Promise<ExitCode> {
  const report = await testFormatRules(files, {
    wkt: flags.strictWkt ? 'usgs' : 'las',
    headerOnly: flags.headerOnly === true,
    timeout: flags.timeout,
    showQueries: flags.showQueries,
  });
  streams.out(flags.json ? printableJson(`${JSON.stringify(report, null, 2)}\n`) : formatReportText(report));
  if (report.verdict === 'fail') return ExitCode.rejected;
  return report.verdict === 'pass' ? ExitCode.accepted : ExitCode.notFullyTested;
}

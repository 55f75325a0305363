import type { Command } from 'commander';
import { Fault } from '../fault.js';
import { formatReportText } from '../report/format-rules.js';
import { inspectionText } from '../report/inspection.js';
import { testFormatRules } from '../run/format-rules.js';
import { type Inspection, inspect } from '../run/inspect.js';
import { ExitCode } from './exit-codes.js';
import type { Streams } from './io.js';
import { writeManifest } from './manifest.js';

interface InspectFlags {
  json?: boolean;
  headerOnly?: boolean;
  rules?: boolean;
  strictWkt?: boolean;
  manifest?: string;
}

export function addInspect(program: Command, streams: Streams, finish: (code: number) => void): void {
  program
    .command('inspect')
    .description('what a cloud is: header, coordinate system, records, passes, quick statistics')
    .argument('<file...>', 'files, folders, patterns or URLs of LAS, LAZ and COPC clouds')
    .option('--json', 'print JSON')
    .option('--header-only', 'do not read the points')
    .option('--rules', 'hold the files against the rules of LAS, LAZ and COPC instead (the check las-structure alone)')
    .option('--strict-wkt', 'with --rules: coordinate systems as the USGS Lidar Base Specification wants them')
    .option('--manifest <file>', 'write a SHA-256 manifest of the files instead, to be handed over with them')
    .addHelpText(
      'after',
      '\nExit code: 0 read (with --rules: no errors), 1 rules broken, 2 wrong usage, 3 a file could not be read or tested.',
    )
    .action(async (files: string[], flags: InspectFlags) => {
      if (flags.manifest) return finish(await writeManifest(files, flags.manifest, streams));
      if (flags.rules) return finish(await showRules(files, flags, streams));
      const inspections: Inspection[] = [];
      const unreadable: string[] = [];
      for await (const outcome of inspect(files, flags.headerOnly === true)) {
        if (outcome.fault !== null) {
          unreadable.push(outcome.fault);
          streams.err(`cloudassay: ${outcome.fault}\n`);
        } else {
          inspections.push(outcome.inspection);
          if (!flags.json) streams.out(inspectionText(outcome.inspection));
        }
      }
      if (flags.json) streams.out(`${JSON.stringify(inspections, null, 2)}\n`);
      if (inspections.length === 0 && unreadable.length === 0)
        throw new Fault({ code: 'usage', where: 'inspect', what: 'nothing to look at' });
      finish(unreadable.length > 0 ? ExitCode.notFullyTested : ExitCode.accepted);
    });
}

async function showRules(files: string[], flags: InspectFlags, streams: Streams): Promise<ExitCode> {
  const report = await testFormatRules(files, {
    wkt: flags.strictWkt ? 'usgs' : 'las',
    headerOnly: flags.headerOnly === true,
  });
  streams.out(flags.json ? `${JSON.stringify(report, null, 2)}\n` : formatReportText(report));
  if (report.verdict === 'fail') return ExitCode.rejected;
  return report.verdict === 'pass' ? ExitCode.accepted : ExitCode.notFullyTested;
}

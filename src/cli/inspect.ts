import type { Command } from 'commander';
import { Fault } from '../fault.js';
import { inspectionText } from '../report/inspection.js';
import { type Inspection, inspect } from '../run/inspect.js';
import { ExitCode } from './exit-codes.js';
import type { Streams } from './io.js';

export function addInspect(program: Command, streams: Streams, finish: (code: number) => void): void {
  program
    .command('inspect')
    .description('what a cloud is: header, coordinate system, records, passes, quick statistics')
    .argument('<file...>', 'files, folders, patterns or URLs of LAS, LAZ and COPC clouds')
    .option('--json', 'print JSON')
    .option('--header-only', 'do not read the points')
    .action(async (files: string[], flags: { json?: boolean; headerOnly?: boolean }) => {
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

import type { Command } from 'commander';
import type { Streams } from './io.js';

/** Adds the command `compare`. */
export function addCompare(program: Command, streams: Streams, finish: (code: number) => void): void {
  program
    .command('compare')
    .description('compare two reports of the same delivery: what is better, what is worse')
    .argument('<old>', 'report.json of the earlier check')
    .argument('<new>', 'report.json of the later check')
    .option('--json', 'print JSON')
    .option('--html <file>', 'also write the comparison as an HTML page')
    .addHelpText('after', '\nExit code: 0 nothing is worse, 1 something is worse, 2 a report could not be read.')
    .action(async (before: string, after: string, flags: { json?: boolean; html?: string }) => {
      const { compare } = await import('./run-compare.js');
      finish(await compare(before, after, flags, streams));
    });
}

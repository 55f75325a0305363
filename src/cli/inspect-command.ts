import type { Command } from 'commander';
import type { Streams } from './io.js';
import { TIMEOUT_HELP, timeoutSeconds } from './timeout.js';

/** Options of the command `inspect`, as parsed. */
export interface InspectFlags {
  json?: boolean;
  headerOnly?: boolean;
  rules?: boolean;
  strictWkt?: boolean;
  manifest?: string;
  timeout?: number;
  showQueries?: boolean;
}

/** Adds the command `inspect`. */
export function addInspect(program: Command, streams: Streams, finish: (code: number) => void): void {
  program
    .command('inspect')
    .description('describe a point cloud: header, coordinate system, records, passes, statistics')
    .argument('<file...>', 'files, folders, patterns or URLs of LAS, LAZ and COPC clouds')
    .option('--json', 'print JSON')
    .option('--header-only', 'do not read the points')
    .option('--rules', 'validate the files against the LAS, LAZ and COPC rules instead (the check las-structure only)')
    .option(
      '--strict-wkt',
      'with --rules: also require what the USGS Lidar Base Specification says about coordinate systems',
    )
    .option('--timeout <seconds>', TIMEOUT_HELP, timeoutSeconds)
    .option(
      '--show-queries',
      'show the queries of addresses (after the ?), which may hold keys and are left out otherwise',
    )
    .option('--manifest <file>', 'write a SHA-256 manifest of the files instead, to be delivered with them')
    .addHelpText(
      'after',
      '\nExit code: 0 read (with --rules: no errors), 1 rules broken, 2 wrong usage, 3 a file could not be read or tested.',
    )
    .action(async (files: string[], flags: InspectFlags) => {
      const { showClouds } = await import('./run-inspect.js');
      finish(await showClouds(files, flags, streams));
    });
}

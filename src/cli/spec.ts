import { readdirSync, readFileSync } from 'node:fs';
import type { Command } from 'commander';
import { specsFolder } from '../built.js';
import { printable } from '../report/printable.js';
import { ExitCode } from './exit-codes.js';
import type { Streams } from './io.js';
import { addSpecNew } from './spec-new.js';

/** Adds the command `spec` with its subcommands. */
export function addSpec(program: Command, streams: Streams, finish: (code: number) => void): void {
  const spec = program.command('spec').description('list, explain, validate or create acceptance specs');
  spec
    .command('list')
    .description('list the specs that come with cloudassay')
    .action(() => {
      streams.out(
        namedSpecs()
          .map(({ name, title, path }) => `${name}\n    ${title}\n    ${path}\n`)
          .join(''),
      );
      finish(ExitCode.accepted);
    });
  spec
    .command('explain')
    .description('explain a spec in plain sentences; with --checks, describe all checks and their options')
    .argument('[file]', 'acceptance spec')
    .option('--checks', 'describe every check instead of a spec')
    .action(async (file: string | undefined, flags: { checks?: boolean }) => {
      if (flags.checks || file === undefined) {
        const { checkReference } = await import('./check-reference.js');
        streams.out(checkReference());
      } else {
        const { explain } = await import('./read-spec.js');
        streams.out(printable(await explain(file)));
      }
      finish(ExitCode.accepted);
    });
  spec
    .command('validate')
    .description('validate a spec and list its errors')
    .argument('<file>', 'acceptance spec')
    .action(async (file: string) => {
      const { validate } = await import('./read-spec.js');
      streams.out(printable(await validate(file)));
      finish(ExitCode.accepted);
    });
  addSpecNew(spec, streams, finish);
}

interface NamedSpec {
  name: string;
  title: string;
  path: string;
}

function namedSpecs(): NamedSpec[] {
  const folder = specsFolder();
  return readdirSync(folder)
    .filter((file) => file.endsWith('.json') && !file.endsWith('.schema.json'))
    .sort()
    .map((file) => {
      const { title } = JSON.parse(readFileSync(`${folder}${file}`, 'utf8')) as { title: string };
      return { name: file.replace(/\.json$/, ''), title, path: `${folder}${file}` };
    });
}

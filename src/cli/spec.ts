import { readdirSync, readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import type { Command } from 'commander';
import { adviceRules } from '../checks/advice/index.js';
import { checkById, checks } from '../checks/index.js';
import { availablePlannedChecks, fragments } from '../run/check-fragments.js';
import { explainSpec } from '../spec/explain.js';
import { loadSpec } from '../spec/load.js';
import { ExitCode } from './exit-codes.js';
import type { Streams } from './io.js';
import { addSpecNew } from './spec-new.js';

export function addSpec(program: Command, streams: Streams, finish: (code: number) => void): void {
  const spec = program.command('spec').description('named acceptance specs, a spec in plain words, a spec checked');
  spec
    .command('list')
    .description('specs that come with cloudassay, to start from')
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
    .description('a spec in plain sentences; with --checks, the checks there are and their options')
    .argument('[file]', 'acceptance spec')
    .option('--checks', 'describe every check instead of a spec')
    .action(async (file: string | undefined, flags: { checks?: boolean }) => {
      if (flags.checks || file === undefined) streams.out(checkReference());
      else streams.out(await explain(file));
      finish(ExitCode.accepted);
    });
  spec
    .command('validate')
    .description('whether a spec can be used, and what is wrong with it if not')
    .argument('<file>', 'acceptance spec')
    .action(async (file: string) => {
      const loaded = await loadSpec(file, fragments(), availablePlannedChecks());
      streams.out(`${file} can be used: ${loaded.requirements.length} requirements, SHA-256 ${loaded.sha256}\n`);
      finish(ExitCode.accepted);
    });
  addSpecNew(spec, streams, finish);
}

async function explain(file: string): Promise<string> {
  const loaded = await loadSpec(file, fragments(), availablePlannedChecks());
  return explainSpec(loaded, new Map(checks.map((check) => [check.id, (r) => check.explain(r)])));
}

interface NamedSpec {
  name: string;
  title: string;
  path: string;
}

/** Folder of the specs that come with the program: beside the sources, or two levels up from the compiled code. */
function specsFolder(): string {
  for (const up of ['../../../specs/', '../../specs/']) {
    const folder = fileURLToPath(new URL(up, import.meta.url));
    try {
      readdirSync(folder);
      return folder;
    } catch {
      // not there: try the other place
    }
  }
  return '';
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

/** Every check with its reason, options, figures and sources, as plain text. */
export function checkReference(): string {
  return `${checks.map(({ id }) => describeCheck(id)).join('\n')}\n${rulesReference()}`;
}

/** The rules of experience that name likely causes, for the end of the reference. */
function rulesReference(): string {
  const lines = adviceRules.flatMap(({ id, title, why, sources }) => [
    `  ${id}: ${title}.`,
    `    ${why}`,
    ...sources.map(
      ({ standard, clause, note }) => `    Source: ${[standard, clause, note].filter(Boolean).join('; ')}`,
    ),
  ]);
  return [
    'likely causes',
    '  Rules of experience; they say where to look and never decide a verdict.',
    ...lines,
    '',
  ].join('\n');
}

function describeCheck(id: string): string {
  const check = checkById(id)!;
  const options = Object.entries(check.schema.properties).map(([name, schema]) => {
    const needed = check.schema.required.includes(name)
      ? 'needed'
      : check.schema.anyOf?.some(({ required }) => required.includes(name))
        ? 'at least one of these needed'
        : 'default' in schema
          ? `default ${JSON.stringify(schema.default)}`
          : 'optional';
    return `    ${name} (${needed}): ${schema.description}`;
  });
  const sources = check.sources.map(
    ({ standard, clause, note }) => `    ${[standard, clause, note].filter(Boolean).join('; ')}`,
  );
  return [
    id,
    `  ${check.title.pass}.`,
    `  Why: ${check.why}`,
    '  Options:',
    ...(options.length > 0 ? options : ['    none']),
    `  Figures: ${check.metrics.join(', ')}`,
    '  Sources:',
    ...sources,
    ...(check.appendix?.() ?? []).map((line) => `  ${line}`),
    '',
  ].join('\n');
}

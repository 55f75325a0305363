// npm run mutate -- [PATH[:FROM-TO] ...] [--sample 8] [--seed 1] [--tests PATTERN,PATTERN] [--concurrency 1] [--minutes 30] [--constants] [--out FOLDER]
// Changes the source in small ways (mutants), one at a time, and runs the unit tests: a mutant that no test fails on is a survivor.
// PATH: files and folders below src, all of src when left out; FROM-TO: lines of a file. --sample: so many of the files, chosen by the seed.
// --tests: test files instead of all, such as "tests/geometry/**", which is quicker; other tests may still find a survivor.
// --constants: also what is computed once when a module is loaded; every test then runs for each such mutant.
// --minutes: time allowed for the run of all tests without a mutant, which comes first.
// The packages for this (tests/mutate/package.json) are installed when they are missing. Of code and tests that did not change,
// results are those of the run before (.scratch/mutants.json).
import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';

const here = fileURLToPath(new URL('./', import.meta.url));
const root = fileURLToPath(new URL('../../', import.meta.url));
const ALL = 'tests/**';
const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    sample: { type: 'string' },
    seed: { type: 'string', default: '1' },
    tests: { type: 'string', default: ALL },
    concurrency: { type: 'string', default: '1' },
    minutes: { type: 'string', default: '30' },
    constants: { type: 'boolean', default: false },
    out: { type: 'string' },
  },
});

/** Source files of a path, in the order of their names; compiled AssemblyScript is tested, but not changed. */
function sourcesOf(path) {
  if (!statSync(join(root, path.split(':')[0])).isDirectory()) return [path];
  return readdirSync(join(root, path), { recursive: true })
    .filter((name) => name.endsWith('.ts') && !name.includes('assembly'))
    .map((name) => `${path.replace(/\/$/, '')}/${name}`)
    .sort();
}

/** So many of the files, by linear congruential steps modulo 2^32 (the constants of Numerical Recipes, from memory). */
function sampleOf(files, count, seed) {
  const left = [...files];
  let state = seed >>> 0;
  const step = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 32;
  };
  step();
  return Array.from({ length: Math.min(count, left.length) }, () =>
    left.splice(Math.floor(step() * left.length), 1),
  ).flat();
}

const files = (positionals.length > 0 ? positionals : ['src']).flatMap(sourcesOf);
const chosen = values.sample === undefined ? files : sampleOf(files, Number(values.sample), Number(values.seed));
console.log(`${chosen.join('\n')}\n`);

if (!existsSync(join(here, 'node_modules')))
  execFileSync('npm', ['ci', '--ignore-scripts'], { cwd: here, stdio: 'inherit' });
const out = resolve(values.out ?? mkdtempSync(join(tmpdir(), 'cloudassay-mutate-')));
mkdirSync(out, { recursive: true });
mkdirSync(join(root, '.scratch'), { recursive: true });
const packages = join(here, 'node_modules/@stryker-mutator');
const config = {
  testRunner: 'vitest',
  plugins: [join(packages, 'vitest-runner/dist/src/index.js')],
  vitest: { configFile: 'tests/mutate/vitest.config.js', related: values.tests === ALL },
  mutate: chosen,
  ignorePatterns: ['/.git', '/.scratch', '/tests/mutate/node_modules', '/dist/declarations'],
  ignoreStatic: !values.constants,
  coverageAnalysis: 'perTest',
  concurrency: Number(values.concurrency),
  dryRunTimeoutMinutes: Number(values.minutes),
  timeoutMS: 10_000,
  checkers: [],
  tempDirName: join(out, 'work'),
  incremental: true,
  incrementalFile: join(root, '.scratch/mutants.json'),
  reporters: ['progress-append-only', 'html', 'json'],
  htmlReporter: { fileName: join(out, 'mutants.html') },
  jsonReporter: { fileName: join(out, 'mutants.json') },
  allowEmpty: true,
  disableTypeChecks: false,
};
const configFile = join(out, 'config.json');
writeFileSync(configFile, JSON.stringify(config, null, 2));
const ran = spawnSync(process.execPath, [join(packages, 'core/bin/stryker.js'), 'run', configFile], {
  cwd: root,
  stdio: 'inherit',
  env: { ...process.env, MUTATE_TESTS: JSON.stringify(values.tests.split(',')) },
});
if (ran.status !== 0 || !existsSync(config.jsonReporter.fileName)) process.exit(ran.status || 1);

const FOUND = ['Killed', 'Timeout'];
const MISSED = ['Survived', 'NoCoverage'];
const report = JSON.parse(readFileSync(config.jsonReporter.fileName, 'utf8'));
const byFolder = new Map();
const names = new Set(chosen.map((path) => path.split(':')[0]));
for (const [name, { mutants, source }] of Object.entries(report.files).filter(([name]) => names.has(name))) {
  const lines = source.split('\n');
  const sums = byFolder.get(dirname(name)) ?? { found: 0, all: 0 };
  byFolder.set(dirname(name), sums);
  for (const { status, location, replacement, mutatorName } of mutants) {
    if (FOUND.includes(status)) sums.found++;
    if (FOUND.includes(status) || MISSED.includes(status)) sums.all++;
    if (!MISSED.includes(status)) continue;
    const { line } = location.start;
    const shown =
      location.end.line === line
        ? lines[line - 1].slice(location.start.column - 1, location.end.column - 1)
        : `${lines[line - 1].trim()} ...`;
    console.log(`${name}:${line} ${status} ${mutatorName}: ${shown} -> ${(replacement ?? '').replaceAll(/\s+/g, ' ')}`);
  }
}
for (const [folder, { found, all }] of [...byFolder].sort())
  console.log(`${folder}: ${found} of ${all} mutants found (${((100 * found) / Math.max(1, all)).toFixed(1)} %)`);
console.log(`results: ${out}`);

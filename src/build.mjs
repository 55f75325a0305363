// Builds everything into dist (DEVELOPERS.md, chapter "The build"). Files that did not change are not written, so that a
// test run beside this one goes on with what it has. With --types also the declarations of the library.
import { spawnSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { buildWasm } from './kernel/build.mjs';

const { build } = await import('esbuild').catch(() => {
  process.stderr.write('esbuild is not installed; run npm ci\n');
  process.exit(1);
});

const root = fileURLToPath(new URL('../', import.meta.url));
const dist = join(root, 'dist');

const COMMON = {
  absWorkingDir: root,
  outdir: dist,
  write: false,
  charset: 'utf8',
  logLevel: 'warning',
  tsconfigRaw: { compilerOptions: { target: 'ES2022', verbatimModuleSyntax: true } },
};
// Names of functions are kept and nothing is shortened: a stack trace can be read without a source map.
const NODE = { ...COMMON, platform: 'node', format: 'esm', target: 'node20', packages: 'external' };

/** Command line and library; what both or several commands use goes into shared files. */
const program = () =>
  build({
    ...NODE,
    bundle: true,
    splitting: true,
    entryPoints: { cli: 'src/cli/program.ts', index: 'src/index.ts' },
    chunkNames: 'part-[hash]',
  });

/** Worker thread: one file, for every thread loads it anew. */
const worker = () => build({ ...NODE, bundle: true, entryPoints: { worker: 'src/engine/worker.ts' } });

/** Viewer of the report: one script without imports, shortened because every report carries it. */
const viewer = () =>
  build({
    ...COMMON,
    bundle: true,
    platform: 'browser',
    format: 'iife',
    target: 'es2022',
    minify: true,
    entryPoints: { viewer: 'src/report/html/viewer/main.ts' },
  });

/** Every module by itself below dist/src and dist/test-clouds: for benches and fuzzing, not in the package. */
const modules = () =>
  build({
    ...NODE,
    packages: undefined,
    outbase: root,
    entryPoints: ['src', 'test-clouds'].flatMap((folder) =>
      readdirSync(join(root, folder), { recursive: true, withFileTypes: true })
        .filter((file) => file.isFile() && file.name.endsWith('.ts') && !file.parentPath.includes('assembly'))
        .map((file) => join(file.parentPath, file.name)),
    ),
  });

/** Replaces a file in one step, and only when it changes. */
function put(path, contents) {
  const now = Buffer.from(contents);
  try {
    if (readFileSync(path).equals(now)) return;
  } catch {
    mkdirSync(dirname(path), { recursive: true });
  }
  const half = `${path}.${process.pid}.tmp`;
  writeFileSync(half, now);
  renameSync(half, path);
}

async function bundles() {
  const results = await Promise.all([program(), worker(), viewer(), modules()]);
  const files = results.flatMap(({ outputFiles }) => outputFiles);
  for (const { path, contents } of files) put(path, contents);
  removeOthers(dist, new Set(files.map(({ path }) => path)));
}

/** Scripts of an earlier build, whose source is gone. */
function removeOthers(folder, kept) {
  for (const file of readdirSync(folder, { recursive: true, withFileTypes: true })) {
    const path = join(file.parentPath, file.name);
    const ours = file.name.endsWith('.js') || file.name.endsWith('.js.map');
    if (file.isFile() && ours && !kept.has(path)) rmSync(path, { force: true });
  }
}

/** Declarations of all modules, of which those that the library's entry needs go into dist/types. */
function types() {
  const compiler = fileURLToPath(import.meta.resolve('typescript/bin/tsc'));
  const { status } = spawnSync(process.execPath, [compiler, '-p', join(root, 'tsconfig.json')], { stdio: 'inherit' });
  if (status !== 0) return process.exit(status ?? 1);
  const all = join(dist, 'declarations');
  const needed = new Map();
  const take = (path) => {
    if (needed.has(path)) return;
    const text = readFileSync(join(all, path), 'utf8');
    needed.set(path, text);
    for (const [, to] of text.matchAll(/(?:from|import\()\s*['"](\.[^'"]+)\.js['"]/g))
      take(`${join(dirname(path), to)}.d.ts`);
  };
  take('index.d.ts');
  rmSync(join(dist, 'types'), { recursive: true, force: true });
  for (const [path, text] of needed) put(resolve(dist, 'types', path), text);
}

await Promise.all([bundles(), buildWasm(dist)]);
if (process.argv.includes('--types')) types();

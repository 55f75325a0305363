// Builds everything into dist (DEVELOPERS.md, chapter "The build"). Files that did not change are not written, so that a
// test run beside this one goes on with what it has. With --types also the declarations of the library.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';
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
/**
 * Packages that are not bundled: piscina starts threads from files of its own, so it is a dependency of the installed
 * package. All others are bundled, for opening their many small files takes longer than running them.
 */
const EXTERNAL = ['piscina'];
/** Bundled packages in the older module format ask for modules of Node.js by `require`. */
const REQUIRE = "import { createRequire } from 'node:module';\nconst require = createRequire(import.meta.url);";

// Names of functions are kept and nothing is shortened: a stack trace can be read without a source map.
const NODE = { ...COMMON, platform: 'node', format: 'esm', target: 'node20' };

const BUNDLE = { ...NODE, bundle: true, external: EXTERNAL, banner: { js: REQUIRE }, metafile: true };

/** Command line and library; what both or several commands use goes into shared files. */
const program = () =>
  build({
    ...BUNDLE,
    splitting: true,
    entryPoints: { cli: 'src/cli/start.ts', 'command-thread': 'src/cli/command-thread.ts', index: 'src/index.ts' },
    chunkNames: 'part-[hash]',
  });

/** Worker thread: one file, for every thread loads it anew. */
const worker = () => build({ ...BUNDLE, entryPoints: { worker: 'src/engine/worker.ts' } });

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
    outbase: root,
    entryPoints: ['src', 'test-clouds'].flatMap((folder) =>
      readdirSync(join(root, folder), { recursive: true, withFileTypes: true })
        .filter((file) => file.isFile() && /(?<!\.d)\.ts$/.test(file.name) && !file.parentPath.includes('assembly'))
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

const VALIDATOR = join(dist, 'src/spec/spec-validator.js');

/**
 * The validator of acceptance specs as code, from the schema that the built modules put together: compiling the schema takes
 * longer than all else before the first point. It is kept as long as the schema and the way of compiling it are the same.
 */
async function writeValidator() {
  const built = (path) => pathToFileURL(join(dist, 'src', path)).href;
  const { fragments } = await import(built('run/check-fragments.js'));
  const { composeSchema } = await import(built('spec/compose.js'));
  const { version } = JSON.parse(readFileSync(join(root, 'node_modules/ajv/package.json'), 'utf8'));
  const how = readFileSync(join(dist, 'src/spec/compile-validator.js'), 'utf8') + writeValidator;
  const from = createHash('sha256')
    .update(JSON.stringify([composeSchema(fragments()), version, how]))
    .digest('hex');
  const heading = `// From schema ${from}`;
  if (existsSync(VALIDATOR) && readFileSync(VALIDATOR, 'utf8').startsWith(heading)) return;
  const { compileValidator } = await import(built('spec/compile-validator.js'));
  const { default: standalone } = await import('ajv/dist/standalone/index.js');
  const { ajv, validate } = compileValidator(fragments());
  const ids = JSON.stringify(
    fragments()
      .map(({ id }) => id)
      .sort(),
  );
  const contents = `${standalone.default(ajv, validate)}\nexport const checks = ${ids};\n`;
  const stdin = { contents, resolveDir: root };
  const { outputFiles } = await build({ ...NODE, stdin, bundle: true, minify: true, banner: { js: heading } });
  put(VALIDATOR, outputFiles[0].contents);
}

async function bundles() {
  const single = await modules();
  for (const { path, contents } of single.outputFiles) put(path, contents);
  await writeValidator();
  const results = await Promise.all([program(), worker(), viewer()]);
  const files = [...single.outputFiles, ...results.flatMap(({ outputFiles }) => outputFiles)];
  for (const { path, contents } of files) put(path, contents);
  put(
    join(dist, 'bundled-packages.txt'),
    licences(results.flatMap(({ metafile }) => Object.keys(metafile?.inputs ?? {}))),
  );
  removeOthers(dist, new Set([...files.map(({ path }) => path), VALIDATOR]));
}

/**
 * Name, version and licence of every package that is part of the bundles, as their licences ask for; also of the packages
 * that those depend on, for a package may contain them.
 */
function licences(inputs) {
  const texts = new Map();
  const add = (folder) => {
    if (texts.has(folder)) return;
    const { name, version, dependencies } = JSON.parse(readFileSync(join(root, folder, 'package.json'), 'utf8'));
    const file = readdirSync(join(root, folder)).find((entry) => /^licen[cs]e/i.test(entry));
    if (file === undefined) throw new Error(`${name} ${version} comes without the text of its licence`);
    texts.set(folder, `${name} ${version}\n\n${readFileSync(join(root, folder, file), 'utf8').trim()}\n`);
    for (const other of Object.keys(dependencies ?? {})) add(`node_modules/${other}`);
  };
  for (const path of inputs) {
    const folder = /^node_modules\/(?:@[^/]+\/)?[^/]+/.exec(path)?.[0];
    if (folder !== undefined) add(folder);
  }
  const sorted = [...texts].sort(([a], [b]) => (a < b ? -1 : 1));
  return sorted.map(([, text]) => text).join(`\n${'-'.repeat(80)}\n\n`);
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

// The validator of specs is written by built modules, some of which need the WebAssembly.
await buildWasm(dist);
await bundles();
if (process.argv.includes('--types')) types();

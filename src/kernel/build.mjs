// Compiles AssemblyScript to WebAssembly, unless the output there is was compiled from the same sources. What was compiled from
// what is known by digests beside the output, not by times of files: a copy of a build has new times and old contents.
import { createHash } from 'node:crypto';
import { mkdirSync, readdirSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const path = (relative) => fileURLToPath(new URL(relative, import.meta.url));

const OPTIONS = [
  '-O3',
  '--noAssert',
  '--runtime',
  'stub',
  '--use',
  'abort=',
  '--enable',
  'simd',
  '--enable',
  'bulk-memory',
];

/** Modules: name of the output, folder of the sources below src, options of its own. */
const MODULES = [
  { name: 'laz', folder: 'cloud/decoder/assembly', more: [] },
  {
    name: 'loops',
    folder: 'kernel/assembly',
    more: ['--importMemory', '--initialMemory', '96', '--maximumMemory', '96'],
  },
  { name: 'voxels', folder: 'kernel/voxels/assembly', more: [] },
];

const sha256 = (bytes) => createHash('sha256').update(bytes).digest('hex');

/** Digest of the names and bytes of files, whatever their order. @param files paths by name */
export function digestOfFiles(files) {
  const lines = Object.keys(files)
    .sort()
    .map((name) => `${sha256(readFileSync(files[name]))} ${name}\n`);
  return sha256(lines.join(''));
}

/** Digest of all that decides what a module is compiled to: its sources, those that modules share, options and compiler. */
function digestOfModule({ folder, more }) {
  const compiler = fileURLToPath(import.meta.resolve('assemblyscript/package.json'));
  const files = { 'build.mjs': fileURLToPath(import.meta.url), 'assemblyscript/package.json': compiler };
  // The kernel's own folder holds what all modules share.
  for (const where of [folder, 'kernel/assembly'])
    for (const name of readdirSync(path(`../${where}`))) files[`${where}/${name}`] = join(path(`../${where}`), name);
  return sha256(`${digestOfFiles(files)} ${[...OPTIONS, ...more].join(' ')}`);
}

/** Where it is written what an output was compiled from. */
const recordOf = (output) => `${output}.sha256`;

/** Whether the output is there, unchanged since it was compiled, and compiled from sources of this digest. */
export function isCompiledFrom(output, digest) {
  try {
    return readFileSync(recordOf(output), 'utf8') === recordText(digest, readFileSync(output));
  } catch {
    return false;
  }
}

function recordText(digest, bytes) {
  return `${digest} sources\n${sha256(bytes)} output\n`;
}

/** Compiles one module into a file. Throws what the compiler refuses. */
async function compile({ folder, more }, output) {
  // The compiler takes a second to load.
  const { default: asc } = await import('assemblyscript/asc');
  const entry = path(`../${folder}/index.ts`);
  const { error, stderr } = await asc.main([entry, '--outFile', output, ...OPTIONS, ...more]);
  process.stderr.write(stderr.toString());
  if (error) throw error;
}

/**
 * Compiles the modules of WebAssembly that are not there yet into the folder of the build, and says which. Throws what the
 * compiler refuses.
 * @param compiler compiles a module into a file
 */
export async function buildWasm(dist, compiler = compile) {
  const compiled = [];
  for (const module of MODULES) {
    const output = join(dist, `${module.name}.wasm`);
    const digest = digestOfModule(module);
    if (isCompiledFrom(output, digest)) continue;
    mkdirSync(dist, { recursive: true });
    const half = `${output}.${process.pid}.tmp`;
    await compiler(module, half);
    const bytes = readFileSync(half);
    renameSync(half, output);
    // Last: where the program ends before this, the module is compiled again.
    const halfRecord = `${recordOf(output)}.${process.pid}.tmp`;
    writeFileSync(halfRecord, recordText(digest, bytes));
    renameSync(halfRecord, recordOf(output));
    compiled.push(module.name);
  }
  return compiled;
}

// Compiles AssemblyScript to WebAssembly, unless the output is newer than all its sources.
import { mkdirSync, readdirSync, renameSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const path = (relative) => fileURLToPath(new URL(relative, import.meta.url));
const changed = (file) => statSync(file, { throwIfNoEntry: false })?.mtimeMs ?? 0;

/** @param dist folder of the build; @param name name of the module; @param folder its sources, below src */
async function build(dist, name, folder, ...more) {
  const from = path(`../${folder}/`);
  const to = join(dist, `${name}.wasm`);
  // The kernel's own folder holds what all modules share.
  const sources = [from, path('./assembly/')].flatMap((where) => readdirSync(where).map((name) => where + name));
  if (changed(to) >= Math.max(changed(fileURLToPath(import.meta.url)), ...sources.map(changed))) return;
  // The compiler takes a second to load.
  const { default: asc } = await import('assemblyscript/asc');
  mkdirSync(dist, { recursive: true });
  const half = `${to}.${process.pid}.tmp`;
  const options = [
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
  const { error, stderr } = await asc.main([`${from}index.ts`, '--outFile', half, ...options, ...more]);
  process.stderr.write(stderr.toString());
  if (error) throw error;
  renameSync(half, to);
}

/** Compiles every module of WebAssembly into the folder of the build. Throws what the compiler refuses. */
export async function buildWasm(dist) {
  await build(dist, 'laz', 'cloud/decoder/assembly');
  await build(dist, 'loops', 'kernel/assembly', '--importMemory', '--initialMemory', '96', '--maximumMemory', '96');
  await build(dist, 'voxels', 'kernel/voxels/assembly');
}

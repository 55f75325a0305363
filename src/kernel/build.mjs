// Compiles AssemblyScript to WebAssembly, unless what is there is newer than all its sources.
import { mkdirSync, readdirSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import asc from 'assemblyscript/asc';

const path = (relative) => fileURLToPath(new URL(relative, import.meta.url));
const changed = (file) => statSync(file, { throwIfNoEntry: false })?.mtimeMs ?? 0;

/** @param folder sources, below src; @param target below dist/src */
async function build(folder, target, ...more) {
  const from = path(`../${folder}/`);
  const to = path(`../../dist/src/${target}`);
  // What all share is in the kernel's own folder.
  const sources = [from, path('./assembly/')].flatMap((where) => readdirSync(where).map((name) => where + name));
  if (changed(to) >= Math.max(changed(fileURLToPath(import.meta.url)), ...sources.map(changed))) return;
  mkdirSync(dirname(to), { recursive: true });
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
  const { error, stderr } = await asc.main([`${from}index.ts`, '--outFile', to, ...options, ...more]);
  process.stderr.write(stderr.toString());
  if (error) process.exitCode = 1;
}

await build('cloud/decoder/assembly', 'cloud/decoder/laz.wasm');
await build('kernel/assembly', 'kernel/loops.wasm', '--importMemory', '--initialMemory', '96', '--maximumMemory', '96');
await build('kernel/voxels/assembly', 'kernel/voxels.wasm');

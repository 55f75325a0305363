// Compiles the decoder to dist/src/cloud/decoder/laz.wasm, unless that is newer than all its sources.
import { mkdirSync, readdirSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import asc from 'assemblyscript/asc';

const folder = fileURLToPath(new URL('.', import.meta.url));
const target = fileURLToPath(new URL('../../../../dist/src/cloud/decoder/laz.wasm', import.meta.url));

const changed = (path) => statSync(path, { throwIfNoEntry: false })?.mtimeMs ?? 0;
const sources = readdirSync(folder).map((name) => folder + name);
if (changed(target) < Math.max(...sources.map(changed))) {
  mkdirSync(dirname(target), { recursive: true });
  const options = ['-O3', '--noAssert', '--runtime', 'stub', '--use', 'abort=', '--enable', 'simd', '--enable', 'bulk-memory'];
  const { error, stderr } = await asc.main([`${folder}index.ts`, '--outFile', target, ...options]);
  process.stderr.write(stderr.toString());
  if (error) process.exitCode = 1;
}

import { execFileSync } from 'node:child_process';
import { fileURLToPath } from 'node:url';

/** Once before every run of tests, also of a single file: worker threads and the program are those of the sources now. */
export default function buildFirst(): void {
  execFileSync(process.execPath, [fileURLToPath(new URL('../src/build.mjs', import.meta.url))], { stdio: 'inherit' });
}

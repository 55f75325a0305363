import { execFile } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

/* Limits of the system that are no fault of any file: one sentence, and never the exit code of a verdict. */

const program = join(import.meta.dirname, '..', '..', 'bin', 'cloudassay.js');
const CLOUDS = 'test-clouds/formats/las';
let folder = '';
let spec = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-limits-'));
  spec = join(folder, 'spec.json');
  const requirements = [{ id: 'D', check: 'density', min: 1e6 }];
  writeFileSync(spec, JSON.stringify({ spec: '1', title: 'test', requirements }));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function run(command: string, args: string[]): Promise<{ code: number | null; out: string; err: string }> {
  return new Promise((done) => {
    execFile(command, args, { timeout: 20_000 }, (error, out, err) => {
      done({ code: error ? (error.code as number | null) : 0, out, err });
    });
  });
}

describe.skipIf(process.platform !== 'linux')('a system that refuses', () => {
  // 24: the parts of the program cannot be opened; 30: no thread can be started, or a tile cannot be opened.
  it.concurrent.each([24, 30])('more than %i open files at once: exit 3', async (most) => {
    const command = `ulimit -n ${most}; exec "$@"`;
    const args = [process.execPath, program, 'check', CLOUDS, '--spec', spec, '--workers', '2'];
    const { code, out, err } = await run('bash', ['-c', command, 'bash', ...args]);
    expect(err).toMatch(
      /^cloudassay: open files: the system lets this program open too few files at once\. Raise the limit[^\n]*\n$/,
    );
    expect(out).toBe('');
    expect(code).toBe(3);
  });

  it.concurrent.each(['--out', '--cache'])(
    'to make a folder below /proc: exit 2, and no waiting (%s)',
    async (option) => {
      const args = ['check', CLOUDS, '--spec', spec, '--workers', '1', option, '/proc/cloudassay/report'];
      const { code, err } = await run(process.execPath, [program, ...args]);
      expect(err).toMatch(
        /^cloudassay: \/proc\/cloudassay\/report: the folder for the (report|cache)[^\n]* cannot be made/,
      );
      expect(code).toBe(2);
    },
  );
});

import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { lasOf, soundStreet } from '../checks/check-files.js';

const program = join(import.meta.dirname, '..', '..', 'bin', 'cloudassay.js');
let folder = '';
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-computing-'));
  writeFileSync(join(folder, 'a.las'), lasOf(soundStreet({ density: 5 })));
  const requirements = [{ id: 'D', check: 'density', min: 1 }];
  writeFileSync(join(folder, 'spec.json'), JSON.stringify({ spec: '1', title: 'test', requirements }));
  writeFileSync(join(folder, 'hook.mjs'), HOOK);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/**
 * Loaded into every thread before the program: makes a step of the thread of the command last for ever, as a step that
 * computes without a pause does, and says so by a file.
 */
const HOOK = `
import fs from 'node:fs';
import { syncBuiltinESMExports } from 'node:module';
import { isMainThread, workerData } from 'node:worker_threads';
const { STEP, REACHED } = process.env;
const forEver = (of, name, when = () => true) => {
  const original = of[name];
  of[name] = function (...given) {
    if (!when(...given)) return original.apply(this, given);
    fs.writeFileSync(REACHED, '');
    for (;;) Math.hypot(1, 2);
  };
};
if (!isMainThread && workerData?.args) {
  if (STEP === 'judge') forEver(Float64Array.prototype, 'sort');
  if (STEP === 'write') forEver(JSON, 'stringify', (value) => value === 'cloudassay');
  if (STEP === 'rename') forEver(fs, 'renameSync', (from) => from.endsWith('.part'));
  if (STEP === 'spec') forEver(JSON, 'parse', (text) => text.includes('requirements'));
  syncBuiltinESMExports();
}
`;

async function interruptAt(step: string, signal: NodeJS.Signals) {
  const reached = join(folder, `reached-${step}`);
  const out = join(folder, `out-${step}`);
  const args = ['--import', join(folder, 'hook.mjs'), program, 'check', join(folder, 'a.las')];
  args.push('--spec', join(folder, 'spec.json'), '--out', out, '--formats', 'json,md');
  const env = { ...process.env, STEP: step, REACHED: reached };
  const child = spawn(process.execPath, args, { stdio: ['ignore', 'ignore', 'pipe'], env });
  let err = '';
  child.stderr.on('data', (text) => {
    err += text;
  });
  const ended = new Promise<number | null>((done) => child.on('close', done));
  await vi.waitFor(() => expect(existsSync(reached)).toBe(true), { timeout: 30_000, interval: 20 });
  child.kill(signal);
  return { code: await ended, err, left: existsSync(out) ? readdirSync(out) : [] };
}

// That each of them ends at all is the point; a run that does not end is ended by the time limit of the test.
describe('a signal', () => {
  it.concurrent.each([
    ['reads the spec', 'spec', 'SIGINT'],
    ['judges', 'judge', 'SIGTERM'],
    ['makes the report', 'write', 'SIGINT'],
    ['renames the files of the report', 'rename', 'SIGTERM'],
  ] as const)(
    'ends a run that %s without a pause, with one sentence, and leaves no unfinished file',
    async (_, step, signal) => {
      const { code, err, left } = await interruptAt(step, signal);
      expect(err).toBe(`cloudassay: stopped by ${signal} before the end; no result was written\n`);
      expect(code).toBe(3);
      expect(left).toEqual([]);
    },
    60_000,
  );
});

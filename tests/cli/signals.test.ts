import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { main } from '../../src/cli/program.js';
import { checkDelivery } from '../../src/run/check-delivery.js';
import { lasOf, soundStreet } from '../checks/check-files.js';

const program = join(import.meta.dirname, '..', '..', 'bin', 'cloudassay.js');
const tile = lasOf(soundStreet({ density: 5 }));
let folder = '';
let spec = '';
/** Files for which a request gets no answer. */
const waiting = new Set<string>();
/** Answers the first request for a file, which is for its header, and no other. */
const seen = new Set<string>();
const server = createServer((request, response) => {
  if (request.url!.startsWith('/silent') || seen.has(request.url!)) {
    waiting.add(request.url!);
    return;
  }
  seen.add(request.url!);
  const last = Math.min(65_536, tile.length) - 1;
  response.writeHead(206, { 'content-range': `bytes 0-${last}/${tile.length}` }).end(tile.subarray(0, last + 1));
});
let base = '';
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-signals-'));
  spec = join(folder, 'spec.json');
  const requirements = [{ id: 'D', check: 'density', min: 1 }];
  writeFileSync(spec, JSON.stringify({ spec: '1', title: 'test', requirements }));
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
});
afterAll(() => {
  server.closeAllConnections();
  server.close();
  rmSync(folder, { recursive: true, force: true });
});

/** Starts the program, sends a signal when it is in the state, and returns how it ended. */
async function interrupt(args: string[], signal: NodeJS.Signals, inState: () => boolean) {
  const child = spawn(process.execPath, [program, ...args], { stdio: ['pipe', 'ignore', 'pipe'] });
  let err = '';
  child.stderr.on('data', (text) => {
    err += text;
  });
  const ended = new Promise<number | null>((done) => child.on('close', done));
  await vi.waitFor(() => expect(inState()).toBe(true), { timeout: 15_000, interval: 20 });
  const begun = Date.now();
  child.kill(signal);
  const code = await ended;
  return { code, err, ms: Date.now() - begun };
}

describe('a signal', () => {
  it.concurrent.each<[string, string, (address: string) => string[], NodeJS.Signals]>([
    ['waits for a header', '/silent-1.las', (address) => ['check', address, '--spec', spec], 'SIGTERM'],
    ['waits for points', '/a.las', (address) => ['check', address, '--spec', spec, '--workers', '2'], 'SIGINT'],
    ['inspects', '/silent-2.las', (address) => ['inspect', address], 'SIGINT'],
  ])('ends a run that %s within 2 s, with one sentence', async (_, path, args, signal) => {
    const { code, err, ms } = await interrupt(args(`${base}${path}`), signal, () => waiting.has(path));
    expect(err).toBe(`cloudassay: stopped by ${signal} before the end; no result was written\n`);
    expect(code).toBe(3);
    expect(ms).toBeLessThan(2000);
  });

  it('ends a command that never ends by itself', async () => {
    const stop = new AbortController();
    const ends: number[] = [];
    let err = '';
    const streams = {
      out: () => stop.abort('SIGINT'),
      err: (text: string) => {
        err += text;
      },
      errTerminal: {},
      outTerminal: {},
      env: {},
      interrupted: stop.signal,
      end: (code: number) => ends.push(code),
      settled: () => new Promise<null>(() => {}),
    };
    // The list of specs is printed, and with it the signal comes.
    expect(await main(['spec', 'list'], streams)).toBe(3);
    expect(err).toMatch(/^cloudassay: stopped by SIGINT/);
    expect(ends).toEqual([3]);
  });

  it('stops the measuring of a caller of the library with its own reason, and many jobs cause no warning', async () => {
    const path = join(folder, 'a.las');
    writeFileSync(path, tile);
    const warnings: Error[] = [];
    const heard = (warning: Error) => warnings.push(warning);
    process.on('warning', heard);
    const stop = new AbortController();
    const reason = new Error('enough');
    let calls = 0;
    const onProgress = () => {
      if (++calls > 2) stop.abort(reason);
    };
    try {
      // Two jobs a worker listen to the signal at the same time, more than the ten that are usual.
      const options = { delivery: [path], spec, workers: 6, spanPoints: 100, signal: stop.signal, onProgress };
      await expect(checkDelivery(options)).rejects.toBe(reason);
      expect(warnings).toEqual([]);
    } finally {
      process.removeListener('warning', heard);
    }
  });
});

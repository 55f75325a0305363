import {
  appendFileSync,
  copyFileSync,
  mkdirSync,
  mkdtempSync,
  rmSync,
  statSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeEach, describe, expect, it } from 'vitest';
import { buildWasm, digestOfFiles, isCompiledFrom } from '../../src/kernel/build.mjs';

const scratch = mkdtempSync(join(tmpdir(), 'cloudassay-wasm-'));
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

const NAMES = ['laz', 'loops', 'voxels'];
const built = join(import.meta.dirname, '../../dist');
const dist = join(scratch, 'dist');
const inDist = (name: string) => join(dist, `${name}.wasm`);
/** Long before any source, and long after. */
const [OLD, NEW] = [new Date('2000-01-01'), new Date('2100-01-01')];

/** A compiler that writes down what it was asked for. */
function standIn(asked: string[]) {
  return async ({ name }: { name: string }, output: string) => {
    asked.push(name);
    writeFileSync(output, `compiled ${name}`);
  };
}

async function askedFor(): Promise<string[]> {
  const asked: string[] = [];
  expect(await buildWasm(dist, standIn(asked))).toEqual(asked);
  return asked;
}

describe('compiled modules', () => {
  // The build that ran before the tests, copied with other times.
  beforeEach(() => {
    rmSync(dist, { recursive: true, force: true });
    mkdirSync(dist);
    for (const name of NAMES)
      for (const end of ['.wasm', '.wasm.sha256']) copyFileSync(join(built, name + end), join(dist, name + end));
  });

  it('of a copied build are current whatever the times of its files', async () => {
    for (const time of [OLD, NEW]) {
      for (const name of NAMES) utimesSync(inDist(name), time, time);
      expect(await askedFor()).toEqual([]);
      expect(statSync(inDist('laz')).mtime).toEqual(time);
    }
  });

  it('of other sources are compiled again, also where the output is newer than the sources', async () => {
    writeFileSync(`${inDist('voxels')}.sha256`, `${'0'.repeat(64)} sources\n${'0'.repeat(64)} output\n`);
    utimesSync(inDist('voxels'), NEW, NEW);
    expect(await askedFor()).toEqual(['voxels']);
    // And not a third time.
    expect(await askedFor()).toEqual([]);
  });

  it('that came without a record, were changed or are missing are compiled again', async () => {
    rmSync(`${inDist('laz')}.sha256`);
    appendFileSync(inDist('loops'), 'x');
    rmSync(inDist('voxels'));
    expect(await askedFor()).toEqual(NAMES);
    expect(await askedFor()).toEqual([]);
  });

  it('are compiled into a folder that is not there yet; a compiler that refuses leaves no record', async () => {
    rmSync(dist, { recursive: true });
    const refuse = async () => {
      throw new Error('type mismatch');
    };
    await expect(buildWasm(dist, refuse)).rejects.toThrow('type mismatch');
    expect(isCompiledFrom(inDist('laz'), '')).toBe(false);
    expect(await askedFor()).toEqual(NAMES);
  });
});

describe('the digest of sources', () => {
  const [a, b] = ['a.ts', 'b.ts'].map((name) => join(scratch, name));

  it('is that of names and bytes, not of times or order', () => {
    writeFileSync(a, 'one');
    writeFileSync(b, 'two');
    const digest = digestOfFiles({ a, b });
    for (const time of [OLD, NEW]) {
      utimesSync(a, time, time);
      expect(digestOfFiles({ b, a })).toBe(digest);
    }
    expect(digestOfFiles({ a: b, b: a })).not.toBe(digest);
    expect(digestOfFiles({ a, c: b })).not.toBe(digest);
    expect(digestOfFiles({ a })).not.toBe(digest);
    writeFileSync(b, 'twe');
    expect(digestOfFiles({ a, b })).not.toBe(digest);
  });
});

import { mkdtempSync, readFileSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { openCloud } from '../../src/cloud/open.js';
import { Fault } from '../../src/fault.js';
import { damage } from '../../test-clouds/faults/damage.js';
import { makeFaults } from '../../test-clouds/faults/make-faults.js';
import { decodeLas, decodePoint } from './las-decoder.js';

const folder = mkdtempSync(join(tmpdir(), 'faults-'));
afterAll(() => rmSync(folder, { recursive: true }));

const faults = makeFaults(folder);
const files = faults.filter(({ name }) => !name.endsWith('/'));
const bytesOf = (name: string) => readFileSync(join(folder, name));

/** Reads a cloud to its last point: the formatIssues, or the code of the fault. */
async function readAll(path: string): Promise<{ fault: string | null; formatIssues: string[] }> {
  try {
    const cloud = await openCloud(path);
    try {
      for (const span of await cloud.spans(1_000_000)) await cloud.decode(span, new Set(['xyz'] as const), () => {});
      return { fault: null, formatIssues: cloud.formatIssues.map((issue) => issue.rule) };
    } finally {
      await cloud.close();
    }
  } catch (error) {
    if (!(error instanceof Fault)) throw error;
    return { fault: error.facts.code, formatIssues: [] };
  }
}

describe('broken files', () => {
  it('are many, small, and each has its sentence', () => {
    expect(faults.length).toBeGreaterThan(30);
    expect(new Set(faults.map(({ name }) => name)).size).toBe(faults.length);
    for (const { path, fault } of faults) {
      expect(fault).toMatch(/^[A-Z].*\.$/);
      expect(statSync(path).size).toBeLessThan(400_000);
    }
  });

  it.each(files.map((file) => [file.name, file] as const))('%s is understood', async (_, { path, expected }) => {
    const { fault, formatIssues } = await readAll(path);
    if (expected.how === 'fault') expect(fault).toBe(expected.word);
    else expect(fault).toBeNull();
    if (expected.how === 'issue') expect(formatIssues).toContain(expected.word);
    if (expected.how === 'sound') expect(formatIssues).toEqual([]);
    if (expected.how === 'check' && expected.word !== 'crs') expect(formatIssues).toEqual([]);
  });

  it('hold what their sentences say, by the byte tables of the LAS specification', () => {
    const sound = decodeLas(bytesOf('sound.las'));
    const stray = decodeLas(bytesOf('stray-point.las'));
    expect(stray.count).toBe(sound.count + 1);
    expect(stray.max[0] - sound.max[0]).toBeGreaterThan(184_990);
    expect(decodePoint(stray, sound.count).x).toBeCloseTo(decodePoint(sound, 0).x + 185_000, 6);
    const twice = decodeLas(bytesOf('every-point-twice.las'));
    for (let i = 0; i < sound.count; i += 17) {
      expect(decodePoint(twice, i)).toEqual(decodePoint(twice, i + sound.count));
    }
    const few = decodeLas(bytesOf('count-too-low.las'));
    expect(few.count).toBe(sound.count - 100);
    expect(decodeLas(bytesOf('no-points.las')).count).toBe(0);
    expect(decodePoint(decodeLas(bytesOf('return-zero.las')), 5).returnNumber).toBe(0);
    const cut = bytesOf('cut-short.las').length;
    expect(cut).toBeLessThan(sound.offsetToPoints + sound.count * 30);
    expect((cut - sound.offsetToPoints) % 30).not.toBe(0);
  });

  it('are the same bytes each time', () => {
    const again = makeFaults(join(folder, 'again'));
    again.forEach(({ name, path }) => {
      if (!name.endsWith('/')) expect(Buffer.compare(readFileSync(path), bytesOf(name))).toBe(0);
    });
  });
});

describe('seeded damage', () => {
  const sound = new Uint8Array(bytesOf('sound.laz'));

  it('changes the copy, never the file, and tells what it did', () => {
    const before = sound.slice();
    let changed = 0;
    for (let seed = 0; seed < 200; seed++) {
      const { bytes, what } = damage(sound, seed);
      expect(what.length).toBeGreaterThan(5);
      if (Buffer.compare(bytes, sound) !== 0) changed++;
      expect(Buffer.compare(damage(sound, seed).bytes, bytes)).toBe(0);
    }
    expect(Buffer.compare(sound, before)).toBe(0);
    // A run of zeros over zeros, or a word set to what it was, changes nothing.
    expect(changed).toBeGreaterThan(150);
  });
});

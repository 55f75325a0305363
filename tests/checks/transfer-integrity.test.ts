import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import fc from 'fast-check';
import { afterAll, describe, expect, it } from 'vitest';
import { transferIntegrity } from '../../src/checks/transfer-integrity.js';
import { discoverClouds } from '../../src/delivery/discover.js';
import {
  compareWithManifest,
  fileDigest,
  makeManifest,
  manifestText,
  parseManifest,
} from '../../src/delivery/manifest.js';
import { Fault } from '../../src/fault.js';
import { judge } from './judge.js';

const folder = mkdtempSync(join(tmpdir(), 'cloudassay-manifest-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const DIGEST = 'ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad';

describe('transfer-integrity', () => {
  const file = (name: string, state: 'same' | 'changed' | 'missing' | 'added') => ({
    name,
    state,
    expected: DIGEST,
    found: DIGEST,
  });

  it('passes when every listed file is the same', () => {
    const verdict = judge(transferIntegrity, {}, {}, { transfer: [file('a.las', 'same'), file('b.las', 'same')] });
    expect(verdict.state).toBe('pass');
    expect(verdict.measured).toMatchObject({ listed: { value: 2 }, same: { value: 2 } });
  });

  it.each(['changed', 'missing', 'added'] as const)('fails on a file that is %s, and names it', (state) => {
    const verdict = judge(transferIntegrity, {}, {}, { transfer: [file('a.las', 'same'), file('quay 2.las', state)] });
    expect(verdict.state).toBe('fail');
    expect(verdict.measured[state].value).toBe(1);
    expect(verdict.summary).toContain('quay 2.las');
  });

  it('without a manifest nothing is shown', () => {
    expect(judge(transferIntegrity, {}, {}, { transfer: null }).state).toBe('undetermined');
  });
});

describe('manifests', () => {
  it('the digest is SHA-256: the example "abc" of FIPS 180-4', async () => {
    writeFileSync(join(folder, 'abc'), 'abc');
    expect(await fileDigest(join(folder, 'abc'))).toBe(DIGEST);
  });

  it('are written so that sha256sum agrees, odd names included, and read back', async () => {
    const here = mkdtempSync(join(folder, 'delivery-'));
    mkdirSync(join(here, 'tiles'));
    const names = ['tiles/a.las', 'tiles/høj kaj 2.las', 'tiles/back\\slash.las', 'tiles/two\nlines.las'];
    for (const [i, name] of names.entries()) writeFileSync(join(here, name), `content ${i}`);
    const path = join(here, 'manifest.sha256');
    const clouds = await discoverClouds([join(here, 'tiles')]);
    const text = manifestText(await makeManifest(clouds, path));
    writeFileSync(path, text);
    // GNU coreutils checks it without a complaint.
    execFileSync('sha256sum', ['--check', '--strict', '--quiet', 'manifest.sha256'], { cwd: here });
    expect(
      parseManifest(text, path)
        .map((entry) => entry.name)
        .sort(),
    ).toEqual([...names].sort());
    // And what GNU coreutils writes is understood, in text and binary mode.
    for (const mode of ['--text', '--binary']) {
      const theirs = execFileSync('sha256sum', [mode, ...names], { cwd: here, encoding: 'utf8' });
      writeFileSync(path, theirs);
      const files = await compareWithManifest(path, clouds);
      expect(files.map((file) => file.state)).toEqual(names.map(() => 'same'));
    }
  });

  it('tell changed, missing and added files apart', async () => {
    const here = mkdtempSync(join(folder, 'changes-'));
    for (const name of ['a.las', 'b.las', 'c.las']) writeFileSync(join(here, name), name);
    const path = join(here, 'manifest.sha256');
    writeFileSync(path, manifestText(await makeManifest(await discoverClouds([here]), path)));
    writeFileSync(join(here, 'b.las'), 'B.las');
    rmSync(join(here, 'c.las'));
    writeFileSync(join(here, 'd.las'), 'new');
    const files = await compareWithManifest(path, await discoverClouds([here]));
    expect(Object.fromEntries(files.map((file) => [file.name, file.state]))).toEqual({
      'a.las': 'same',
      'b.las': 'changed',
      'c.las': 'missing',
      'd.las': 'added',
    });
  });

  it('are held against files by their whole path: two tiles of one name in two folders', async () => {
    const here = mkdtempSync(join(folder, 'twins-'));
    for (const day of ['monday', 'tuesday']) {
      mkdirSync(join(here, 'tiles', day), { recursive: true });
      writeFileSync(join(here, 'tiles', day, '1.las'), day);
    }
    const digest = (text: string) => createHash('sha256').update(text).digest('hex');
    const clouds = await discoverClouds([join(here, 'tiles')]);
    const statesOf = async (place: string, text: string) => {
      mkdirSync(dirname(join(here, place)), { recursive: true });
      writeFileSync(join(here, place), text);
      return (await compareWithManifest(join(here, place), clouds)).map(({ name, state }) => [name, state]);
    };
    const listed = `${digest('monday')}  monday/1.las\n${digest('tuesday')}  tuesday/1.las\n`;
    const same = [
      ['monday/1.las', 'same'],
      ['tuesday/1.las', 'same'],
    ];
    // Beside the folders, and apart from the delivery.
    expect(await statesOf('tiles/manifest.sha256', listed)).toEqual(same);
    expect(await statesOf('papers/manifest.sha256', listed)).toEqual(same);
    // Exchanged, both have changed.
    const exchanged = `${digest('tuesday')}  monday/1.las\n${digest('monday')}  tuesday/1.las\n`;
    expect((await statesOf('papers/manifest.sha256', exchanged)).map(([, state]) => state)).toEqual([
      'changed',
      'changed',
    ]);
    // A bare name that both files have, and a folder that was not delivered, name no file.
    const [bare] = await statesOf('papers/manifest.sha256', `${digest('monday')}  1.las\n`);
    expect(bare).toEqual(['1.las', 'missing']);
    const [other] = await statesOf('papers/manifest.sha256', `${digest('monday')}  sunday/1.las\n`);
    expect(other).toEqual(['sunday/1.las', 'missing']);
  });

  it('name the file beside them where a delivered cloud has the same path elsewhere', async () => {
    const here = mkdtempSync(join(folder, 'beside-'));
    for (const place of ['old', 'new']) {
      mkdirSync(join(here, place));
      writeFileSync(join(here, place, 'a.las'), place);
    }
    const path = join(here, 'new', 'manifest.sha256');
    writeFileSync(path, `${createHash('sha256').update('new').digest('hex')}  a.las\n`);
    const files = await compareWithManifest(path, await discoverClouds([join(here, 'old'), join(here, 'new')]));
    expect(files.map(({ state }) => state)).toEqual(['same', 'added']);
  });

  it('find a name whose accents another system has taken apart', async () => {
    const here = mkdtempSync(join(folder, 'accents-'));
    // One letter, and the same as a letter and a combining diaeresis (Unicode forms NFC and NFD).
    writeFileSync(join(here, 'hafen-su\u0308d.las'), 'quay');
    const path = join(here, 'manifest.sha256');
    const digest = createHash('sha256').update('quay').digest('hex');
    writeFileSync(path, `${digest}  hafen-s\u00fcd.las\n`);
    const files = await compareWithManifest(path, await discoverClouds([here]));
    expect(files.map((file) => file.state)).toEqual(['same']);
  });

  it('do not lead outside their folder', async () => {
    const here = mkdtempSync(join(folder, 'outside-'));
    writeFileSync(join(here, 'a.las'), 'a');
    mkdirSync(join(here, 'inner'));
    const path = join(here, 'inner', 'manifest.sha256');
    writeFileSync(path, `${DIGEST}  ../a.las\n`);
    const [file] = await compareWithManifest(path, []);
    expect(file.state).toBe('missing');
  });

  it('that cannot be read are refused with the line', () => {
    for (const text of ['no manifest at all', `${DIGEST} a.las\n`, `${DIGEST.slice(1)}  a.las\n`]) {
      expect(() => parseManifest(text, 'm')).toThrow(/m, line 1/);
    }
    expect(() => parseManifest('', 'm')).toThrow(Fault);
    expect(() => parseManifest(`${DIGEST}  a\n${DIGEST}  a\n`, 'm')).toThrow(/line 2.*twice|twice.*line 2/s);
  });

  it('survive any names', () => {
    const name = fc.string({ minLength: 1, unit: 'grapheme' }).filter((n) => !n.startsWith('./') && !n.includes('\0'));
    fc.assert(
      fc.property(fc.uniqueArray(name, { minLength: 1, maxLength: 5 }), (names) => {
        const entries = names.map((n) => ({ name: n, sha256: DIGEST }));
        expect(parseManifest(manifestText(entries), 'm')).toEqual(entries);
      }),
      { seed: 3, numRuns: 200 },
    );
  });
});

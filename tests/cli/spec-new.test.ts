import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Streams } from '../../src/cli/io.js';
import { makeSpec } from '../../src/cli/make-spec.js';
import { main } from '../../src/cli/program.js';
import { availablePlannedChecks, fragments } from '../../src/run/check-fragments.js';
import { parseSpec } from '../../src/spec/load.js';
import { starterSpec, understandAnswers } from '../../src/spec/starter.js';

let folder = '';
let said = '';
const streams: Streams = {
  out: (text) => {
    said += text;
  },
  err: (text) => {
    said += text;
  },
  errTerminal: {},
  outTerminal: {},
  env: {},
};

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'spec-new-'));
  said = '';
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const read = (file: string) => parseSpec(readFileSync(file), file, fragments(), availablePlannedChecks());

describe('spec new', () => {
  test('from flags: a spec that can be used, and says what it assumed', async () => {
    const file = join(folder, 'mine.json');
    const flags = ['--title', 'Harbour', '--class', '0,05', '--horizontal', '25832', '--zone', 'pier'];
    expect(await main(['spec', 'new', file, ...flags], streams)).toBe(0);
    const spec = read(file);
    expect(spec.title).toBe('Harbour');
    expect(spec.crs).toEqual({ horizontal: 'EPSG:25832', vertical: null, unit: null });
    const find = (check: string) => spec.requirements.find((r) => r.check === check);
    // ASPRS Positional Accuracy Standards, Edition 2 (2023): 30 check points, 0.8 and 1.6 times the class between swaths.
    expect(find('vertical-accuracy')).toMatchObject({ maxRmse: 0.05, minPoints: 30 });
    expect(find('pass-agreement')).toMatchObject({ maxRmsDz: 0.04, maxDz: 0.08 });
    expect(find('density')?.zone).toBe('pier');
    expect(find('voids')?.zone).toBe('pier');
    for (const requirement of spec.requirements) expect(requirement.note).toMatch(/\w/);
    expect(said).toContain('Assumed: --capture vehicle, --density 400, --gap 1');
    expect(await main(['spec', 'explain', file], streams)).toBe(0);
    expect(said).toContain('1. HDR-1 (mandatory, everywhere)');
  });

  test('from questions: only what no flag answers is required, an empty answer takes the usual value', async () => {
    const asked: string[] = [];
    const file = join(folder, 'asked.json');
    await makeSpec(file, { capture: 'airborne', density: '8' }, streams, async (question, fallback) => {
      asked.push(question);
      return question.startsWith('Largest void') ? '0' : fallback;
    });
    expect(asked).toHaveLength(6);
    const gaps = read(file).requirements.find((r) => r.check === 'voids');
    // (4 x nominal spacing) squared is 16 over the density
    expect(gaps?.maxArea).toBe(2);
    expect(gaps?.count).toBe('first');
  });

  test('never writes over a file', async () => {
    const file = join(folder, 'mine.json');
    await main(['spec', 'new', file], streams);
    const before = readFileSync(file, 'utf8');
    expect(await main(['spec', 'new', file, '--title', 'Other'], streams)).toBe(2);
    expect(said).toContain('a file of this name already exists');
    expect(readFileSync(file, 'utf8')).toBe(before);
  });

  test.each([
    [['--class', 'tight'], 'the vertical class must be a number above zero, not "tight"'],
    [['--capture', 'boat'], 'answer vehicle or airborne'],
    [['--vertical', 'DVR90'], '"DVR90" is not an EPSG code'],
    [['--density', '-3'], 'the density must be a number above zero'],
  ])('says what is wrong with %j', async (flags, sentence) => {
    expect(await main(['spec', 'new', join(folder, 'x.json'), ...flags], streams)).toBe(2);
    expect(said).toContain(sentence);
  });

  test('any sensible answers give a spec that can be used', () => {
    for (const capture of ['vehicle', 'airborne']) {
      for (const [density, gap] of [
        ['1', '0'],
        ['20000', '0'],
        ['8', '50'],
      ]) {
        const base = { title: 't', horizontal: '', vertical: 'EPSG:5799', verticalClass: '0.01', zone: '' };
        const text = starterSpec(understandAnswers({ ...base, capture, density, gap }));
        expect(() => parseSpec(text, 's.json', fragments(), availablePlannedChecks())).not.toThrow();
      }
    }
  });
});

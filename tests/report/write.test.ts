import { spawnSync } from 'node:child_process';
import { mkdtemp, readdir, readFile, rm, utimes, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { Fault } from '../../src/fault.js';
import { REPORT_FORMATS } from '../../src/report/formats.js';
import { reportJson } from '../../src/report/json.js';
import { writeFileAtomically, writeReport } from '../../src/report/write.js';
import { beginDraft, removeDrafts } from '../../src/temporary-files.js';
import { quayRoad } from './sample.js';

/** When set, the file system fails: at opening, or while writing the file whose name holds the text. */
const trouble = vi.hoisted(() => ({ code: '', at: 'open' as 'open' | 'write' | 'rename', name: '' }));

vi.mock('node:fs/promises', async (importOriginal) => {
  const real = await importOriginal<typeof import('node:fs/promises')>();
  const failing = (path: unknown, at: string) =>
    trouble.code !== '' && trouble.at === at && String(path).includes(trouble.name);
  const failure = () => Object.assign(new Error(`${trouble.code}: simulated`), { code: trouble.code });
  return {
    ...real,
    open: async (...given: Parameters<typeof real.open>) => {
      if (failing(given[0], 'open')) throw failure();
      const handle = await real.open(...given);
      if (failing(given[0], 'write')) {
        handle.sync = async () => {
          throw failure();
        };
      }
      return handle;
    },
  };
});
vi.mock('node:fs', async (importOriginal) => {
  const real = await importOriginal<typeof import('node:fs')>();
  return {
    ...real,
    renameSync: (from: string, to: string) => {
      if (trouble.code !== '' && trouble.at === 'rename' && to.includes(trouble.name))
        throw Object.assign(new Error(`${trouble.code}: simulated`), { code: trouble.code });
      real.renameSync(from, to);
    },
  };
});

let folder = '';
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'report-'));
});
afterEach(async () => {
  trouble.code = '';
  await rm(folder, { recursive: true, force: true });
});

async function faultOf(work: Promise<unknown>): Promise<Fault> {
  const error = await work.then(
    () => null,
    (reason: unknown) => reason,
  );
  expect(error).toBeInstanceOf(Fault);
  return error as Fault;
}

describe('writing a report', () => {
  test('makes the folder, writes every format, leaves nothing else', async () => {
    const out = join(folder, 'deep', 'out');
    const written = await writeReport(quayRoad(), out, REPORT_FORMATS);
    const names = [
      'report.json',
      'report.html',
      'junit.xml',
      'requirements.csv',
      'figures.csv',
      'statements.csv',
      'locations.csv',
      'survey-points.csv',
      'pass-pairs.csv',
      'passes.csv',
      'classes.csv',
      'returns.csv',
      'residuals.csv',
      'histograms.csv',
      'series.csv',
      'files.csv',
      'findings.csv',
      'evidence-2-1.csv',
      'report.geojson',
      'report.md',
      'quality.json',
    ];
    expect(written).toEqual(names.map((name) => join(out, name)));
    expect((await readdir(out)).sort()).toEqual([...names].sort());
    expect(await readFile(join(out, 'report.json'), 'utf8')).toBe(reportJson(quayRoad()));
  });

  test('an earlier report is replaced as a whole', async () => {
    await writeFile(join(folder, 'report.json'), 'old, and much longer than nothing');
    await writeReport(quayRoad(), folder, ['json']);
    expect(JSON.parse(await readFile(join(folder, 'report.json'), 'utf8')).verdict).toBe('rejected');
  });

  test.each([
    ['EROFS', 'open', 'report-folder-read-only'],
    ['EACCES', 'open', 'report-folder-read-only'],
    ['ENOSPC', 'write', 'report-disk-full'],
    ['EDQUOT', 'write', 'report-disk-full'],
  ] as const)('%s at %s: a clear fault, the old report stays, no part is left', async (code, at, expected) => {
    await writeFile(join(folder, 'report.json'), 'old');
    Object.assign(trouble, { code, at, name: 'report.html' });
    const fault = await faultOf(writeReport(quayRoad(), folder, ['json', 'html']));
    expect(fault.facts.code).toBe(expected);
    expect(fault.facts.where).toBe(join(folder, 'report.html'));
    expect(fault.facts.advice).toBeTruthy();
    expect(fault.message).not.toContain('simulated');
    expect(await readdir(folder)).toEqual(['report.json']);
    expect(await readFile(join(folder, 'report.json'), 'utf8')).toBe('old');
  });

  test('a failing rename leaves no temporary file', async () => {
    Object.assign(trouble, { code: 'EPERM', at: 'rename', name: 'one.txt' });
    await faultOf(writeFileAtomically(join(folder, 'one.txt'), 'text'));
    expect(await readdir(folder)).toEqual([]);
  });

  test('a file where the folder should be', async () => {
    await writeFile(join(folder, 'taken'), '');
    expect((await faultOf(writeReport(quayRoad(), join(folder, 'taken'), ['json']))).facts.code).toBe(
      'report-path-taken',
    );
    expect((await faultOf(writeReport(quayRoad(), join(folder, 'taken', 'out'), ['json']))).facts.code).toBe(
      'report-path-taken',
    );
  });

  test('a folder that is not there, for a single file', async () => {
    const fault = await faultOf(writeFileAtomically(join(folder, 'none', 'one.txt'), 'text'));
    expect(fault.facts.code).toBe('report-folder-missing');
  });

  test('many at once to the same file: one whole text wins', async () => {
    const path = join(folder, 'shared.txt');
    const texts = Array.from({ length: 8 }, (_, i) => String(i).repeat(200_000));
    await Promise.all(texts.map((text) => writeFileAtomically(path, text)));
    expect(texts).toContain(await readFile(path, 'utf8'));
    expect(await readdir(folder)).toEqual(['shared.txt']);
  });
});

describe('what a killed run left', () => {
  test('is taken away by the next one; a draft of a running process stays', async () => {
    const drafts = async () => (await readdir(folder)).filter((name) => name.endsWith('.part'));
    await writeFile(join(folder, 'report.html'), 'old');
    // The name that a process gives to its draft which has ended since.
    const { pid } = spawnSync(process.execPath, ['-e', '']);
    const left = beginDraft(join(folder, 'report.html')).replace(`-${process.pid}-`, `-${pid}-`);
    await writeFile(left, 'half a rep');
    expect(await drafts()).toHaveLength(1);
    const running = beginDraft(join(folder, 'other.html'));
    await writeFile(running, 'still being written');
    await writeFileAtomically(join(folder, 'report.html'), 'new');
    expect(await readdir(folder)).toEqual([basename(running), 'report.html']);
    removeDrafts();
    expect(await readdir(folder)).toEqual(['report.html']);
  });

  test('is taken away after a day whoever wrote it; other hidden files stay', async () => {
    const old = join(folder, '.report.json.00000000-1-0123456789ab.part');
    const young = join(folder, '.report.json.00000000-1-0123456789ac.part');
    for (const path of [old, young, join(folder, '.notes.part')]) await writeFile(path, 'x');
    await utimes(old, 0, 0);
    await writeFileAtomically(join(folder, 'report.json'), '{}');
    expect(await readdir(folder)).toEqual(['.notes.part', basename(young), 'report.json']);
  });
});

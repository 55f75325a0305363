import { execFile, execFileSync, spawn } from 'node:child_process';
import {
  chmodSync,
  chownSync,
  closeSync,
  existsSync,
  ftruncateSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readdirSync,
  readFileSync,
  rmSync,
  truncateSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Report } from '../../src/report/model.js';
import { lasOf, soundStreet } from '../checks/check-files.js';

/*
 * The world around the files fights back: disks, rights, names, sizes. What must hold is the contract of the README: one
 * sentence a surveyor understands, exit 2 where the question could not be asked or the answer not written, 3 where a tile
 * could not be read, never half a report, never a file left behind.
 */

const program = join(import.meta.dirname, '..', '..', 'bin', 'cloudassay.js');
const isRoot = process.getuid?.() === 0;
/** The user nobody of Debian and most other systems: somebody without rights. */
const NOBODY = 65_534;

interface Answer {
  code: number | null;
  out: string;
  err: string;
}

function run(args: string[], more: { uid?: number; gid?: number; nodeArgs?: string[] } = {}): Promise<Answer> {
  const { nodeArgs = [], ...rights } = more;
  return new Promise((done) => {
    const options = { env: { ...process.env, NO_COLOR: '1', HOME: folder }, maxBuffer: 1 << 26, ...rights };
    const file = rights.uid === NOBODY ? forNobody! : program;
    execFile(process.execPath, [...nodeArgs, file, ...args], options, (error, out, err) => {
      done({ code: error ? (error.code as number | null) : 0, out, err });
    });
  });
}

/** One sentence, nothing of the inside of the program. */
function expectSentence(err: string, words: RegExp): void {
  expect(err).toMatch(words);
  expect(err.trim().split('\n')).toHaveLength(1);
  expect(err).not.toMatch(/\n\s+at |node:|internal error in cloudassay/);
}

/** A file system of its own, or null where none may be mounted. */
function mounted(name: string, options: string): string | null {
  if (!isRoot || process.platform !== 'linux') return null;
  const path = join(folder, name);
  mkdirSync(path, { recursive: true });
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', options, 'tmpfs', path], { stdio: 'ignore' });
  } catch {
    return null;
  }
  mounts.push(path);
  return path;
}

const mounts: string[] = [];
const folder = mkdtempSync(join(tmpdir(), 'cloudassay-hostile-'));
// Where these cannot be had the tests that need them are skipped by name, and say why.
const tiny = mounted('tiny', 'size=64k,mode=777');
const frozen = mounted('frozen', 'size=64k,mode=777');
if (frozen) execFileSync('mount', ['-o', 'remount,ro', frozen]);
const hasFull = existsSync('/dev/full');

/**
 * The program where nobody may read it too: as it lies, or, where the project lies in a folder of its owner's, by a way round
 * that folder; null where neither can be had. Read-only, so that nothing can be lost through it.
 */
function programForNobody(): string | null {
  if (!isRoot) return null;
  chmodSync(folder, 0o755);
  const canRun = (file: string) => {
    try {
      execFileSync(process.execPath, [file, '--version'], { uid: NOBODY, gid: NOBODY, stdio: 'ignore' });
      return true;
    } catch {
      return false;
    }
  };
  if (canRun(program)) return program;
  const path = join(folder, 'program');
  mkdirSync(path);
  try {
    execFileSync('mount', ['--bind', join(import.meta.dirname, '..', '..'), path], { stdio: 'ignore' });
  } catch {
    return null;
  }
  mounts.push(path);
  try {
    execFileSync('mount', ['-o', 'remount,bind,ro', path], { stdio: 'ignore' });
  } catch {
    execFileSync('umount', [mounts.pop()!]);
    return null;
  }
  const file = join(path, 'bin', 'cloudassay.js');
  return canRun(file) ? file : null;
}
const forNobody = programForNobody();
const points = soundStreet();
let tiles = '';
let spec = '';

function write(name: string, bytes: Uint8Array | string): string {
  const path = join(folder, name);
  mkdirSync(join(path, '..'), { recursive: true });
  writeFileSync(path, bytes);
  return path;
}

beforeAll(() => {
  chmodSync(folder, 0o755);
  tiles = join(write('tiles/sound.las', lasOf(points)), '..');
  spec = write(
    'spec.json',
    JSON.stringify({
      spec: '1',
      title: 'Quay road, test',
      requirements: [
        { id: '../../HDR', check: 'header-agreement' },
        { id: 'DEN', check: 'density', min: 1, share: 0.01 },
      ],
    }),
  );
});
afterAll(() => {
  for (const path of mounts) execFileSync('umount', [path]);
  rmSync(folder, { recursive: true, force: true });
});

const ALL_FORMATS = 'json,html,junit,csv,geojson,md,quality';
const check = (...more: string[]) => ['check', tiles, '--spec', spec, '--workers', '1', ...more];

describe('where the report shall go', () => {
  it.skipIf(tiny === null)(
    'a full disk: exit 2, no part of a report, no file left (skipped unless root may mount)',
    async () => {
      const out = join(tiny!, 'report');
      mkdirSync(out);
      writeFileSync(join(out, 'report.json'), 'the report of last week');
      const answer = await run(check('--out', out, '--formats', ALL_FORMATS, '--quiet'));
      expect(answer.code).toBe(2);
      expectSentence(answer.err, /the disk is full, the report was not written/);
      expect(readdirSync(out)).toEqual(['report.json']);
      expect(readFileSync(join(out, 'report.json'), 'utf8')).toBe('the report of last week');
    },
  );

  it.skipIf(tiny === null)(
    'a full disk under the cache costs nothing but the cache (skipped unless root may mount)',
    async () => {
      const cache = join(tiny!, 'cache');
      const answer = await run(check('--cache', cache, '--json'));
      expect(answer.code).toBe(0);
      expect(readdirSync(cache).filter((name) => name.includes('tmp'))).toEqual([]);
    },
  );

  it.skipIf(tiny === null)('a full disk under a manifest (skipped unless root may mount)', async () => {
    const path = join(tiny!, 'delivery.sha256');
    writeFileSync(join(tiny!, 'ballast'), Buffer.alloc(1 << 16).subarray(0, roomOn(tiny!)));
    const answer = await run(['inspect', tiles, '--manifest', path]);
    expect(answer.code).toBe(2);
    expectSentence(answer.err, /the disk is full/);
    expect(readdirSync(tiny!).filter((name) => name.includes('sha256'))).toEqual([]);
  });

  it.skipIf(frozen === null)(
    'a disk that cannot be written is told before hours of reading (skipped unless root may mount)',
    async () => {
      const answer = await run(check('--out', join(frozen!, 'report')));
      expect(answer.code).toBe(2);
      expectSentence(answer.err, /cannot be written here.*folder you may write to/);
      // Nothing was measured: no summary.
      expect(answer.out).toBe('');
    },
  );

  it.skipIf(!forNobody)('a folder of somebody else (skipped unless root, who alone can try as another)', async () => {
    const out = join(folder, 'not-yours');
    mkdirSync(out, { mode: 0o755 });
    const answer = await run(check('--out', out), { uid: NOBODY, gid: NOBODY });
    expect(answer.code).toBe(2);
    expectSentence(answer.err, /cannot be written here/);
    expect(answer.out).toBe('');
    expect(readdirSync(out)).toEqual([]);
  });

  it('a file where the folder should be', async () => {
    const answer = await run(check('--out', join(write('taken', 'a file'), 'report')));
    expect(answer.code).toBe(2);
    expectSentence(answer.err, /a file has the name of a folder that is needed/);
    expect(answer.out).toBe('');
  });

  it.skipIf(!hasFull)(
    'standard output that takes no more: exit 2 in one sentence (skipped without /dev/full)',
    async () => {
      const full = openSync('/dev/full', 'w');
      try {
        const child = spawn(process.execPath, [program, ...check('--json', '--quiet')], {
          stdio: ['ignore', full, 'pipe'],
        });
        let err = '';
        child.stderr!.on('data', (piece) => {
          err += piece;
        });
        const code = await new Promise((done) => child.on('close', done));
        expect(code).toBe(2);
        expectSentence(err, /standard output.*disk is full/);
      } finally {
        closeSync(full);
      }
    },
  );

  it('a reader that has seen enough (a closed pipe) changes no verdict', async () => {
    const child = spawn(process.execPath, [program, ...check('--json', '--quiet')], {
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    child.stdout!.destroy();
    let err = '';
    child.stderr!.on('data', (piece) => {
      err += piece;
    });
    expect(await new Promise((done) => child.on('close', done))).toBe(0);
    expect(err).toBe('');
  });

  it('ids and names that would lead out of the folder stay text', async () => {
    const out = join(folder, 'inside', 'report');
    const answer = await run(check('--out', out, '--formats', ALL_FORMATS, '--quiet'));
    expect(answer.code).toBe(0);
    expect(readdirSync(join(folder, 'inside'))).toEqual(['report']);
    expect(readdirSync(out).filter((name) => /HDR|\.part$|^\./.test(name))).toEqual([]);
    expect(readFileSync(join(out, 'report.json'), 'utf8')).toContain('../../HDR');
    const manifest = write('m.sha256', `${'0'.repeat(64)}  ../../../../etc/passwd\n`);
    const transfer = write(
      't.json',
      JSON.stringify({ spec: '1', title: 't', requirements: [{ id: 'T', check: 'transfer-integrity' }] }),
    );
    const compared = await run(['check', tiles, '--spec', transfer, '--manifest', manifest, '--json']);
    expect(compared.code).toBe(1);
    expect(JSON.parse(compared.out).requirements[0].measured).toMatchObject({ missing: 1, added: 1 });
  });
});

/** Bytes that still fit on a small file system. */
function roomOn(path: string): number {
  const [, line] = execFileSync('df', ['-B1', '--output=avail', path], { encoding: 'utf8' }).split('\n');
  return Number(line);
}

/** The report on standard output of a check of these files beside a sound one. */
async function reportOf(
  paths: string[],
  more: Parameters<typeof run>[1] = {},
): Promise<{ answer: Answer; report: Report }> {
  const answer = await run(['check', ...paths, '--spec', spec, '--workers', '1', '--json', '--quiet'], more);
  expect(answer.err).toBe('');
  return { answer, report: JSON.parse(answer.out) };
}

describe('what is handed in', () => {
  it.skipIf(!forNobody)(
    'a tile nobody may read is a finding, the others are checked (skipped unless root)',
    async () => {
      write('rights/a.las', lasOf(points));
      const shut = write('rights/b.las', lasOf(points));
      chmodSync(shut, 0o600);
      chownSync(shut, 0, 0);
      const { answer, report } = await reportOf([join(folder, 'rights')], { uid: NOBODY, gid: NOBODY });
      expect(answer.code).toBe(3);
      expect(report.files.map((f) => f.fault)).toEqual([null, 'b.las: no permission to read the file']);
      expect(report.delivery.points).toBe(points.count);
    },
  );

  it.skipIf(!forNobody)('a folder nobody may read: exit 2 (skipped unless root)', async () => {
    mkdirSync(join(folder, 'shut'), { mode: 0o700 });
    const answer = await run(['check', join(folder, 'shut'), '--spec', spec], { uid: NOBODY, gid: NOBODY });
    expect(answer.code).toBe(2);
    expectSentence(answer.err, /cannot be read.*access rights/);
  });

  it('the same name in two folders is two tiles', async () => {
    write('twice/east/tile.las', lasOf(points));
    write('twice/west/tile.las', lasOf(points));
    const { answer, report } = await reportOf([join(folder, 'twice', 'west'), join(folder, 'twice', 'east')]);
    expect(answer.code).toBe(0);
    expect(report.files.map((f) => f.file)).toEqual(['east/tile.las', 'west/tile.las']);
    expect(report.delivery.points).toBe(2 * points.count);
  });

  it('blanks, letters of every script, quotes and line breaks in names', async () => {
    const names = ['Kaj vest – ærø 1.las', '码头 路.las', 'it\'s "so" & <b>.las', 'two\nlines.las', '-.las'];
    for (const name of names) write(`names/${name}`, lasOf(points));
    const out = join(folder, 'names-report');
    const answer = await run(['check', join(folder, 'names'), '--spec', spec, '--out', out, '--formats', ALL_FORMATS]);
    expect([answer.code, answer.err]).toEqual([0, '']);
    const report: Report = JSON.parse(readFileSync(join(out, 'report.json'), 'utf8'));
    expect(report.files.map((f) => f.file).sort()).toEqual([...names].sort());
    // Each by its own name too, as a shell hands it over.
    const single = await run(['check', join(folder, 'names', names[0]), '--spec', spec, '--json', '--quiet']);
    expect(JSON.parse(single.out).files[0].file).toBe(names[0]);
  });

  it('a header that announces 2^60 points', async () => {
    const bytes = lasOf(points).slice();
    // Number of point records (64 bits) at byte 247 of a 1.4 header; the legacy number at 107 is 0 for format 6.
    new DataView(bytes.buffer).setBigUint64(247, 1n << 60n, true);
    write('count/a.las', bytes);
    write('count/b.las', lasOf(points));
    const { answer, report } = await reportOf([join(folder, 'count')]);
    expect(answer.code).toBe(3);
    expect(report.files[0].fault).toMatch(/fewer points than its header announces/);
    expect(report.delivery.points).toBe(points.count);
  });

  it('an extended record of 4 GB that is really there, and one that is not: neither is taken into memory', async () => {
    const bytes = lasOf(points).slice();
    const view = new DataView(bytes.buffer);
    // Start of the first extended record at 235, their number at 243; length of its content at byte 20 of its 60.
    view.setBigUint64(235, BigInt(bytes.length), true);
    view.setUint32(243, 1, true);
    const record = new DataView(new ArrayBuffer(60));
    record.setBigUint64(20, 1n << 32n, true);
    for (const [name, extra] of [
      ['there', 2 ** 32],
      ['missing', 10],
    ] as const) {
      const path = write(`record-${name}/a.las`, bytes);
      const file = openSync(path, 'r+');
      writeSync(file, new Uint8Array(record.buffer), 0, 60, bytes.length);
      // A hole: it takes no room on the disk.
      ftruncateSync(file, bytes.length + 60 + extra);
      closeSync(file);
      const probe = 'data:text/javascript,process.on("exit",()=>console.error("kB",process.resourceUsage().maxRSS))';
      const answer = await run(['check', path, '--spec', spec, '--workers', '1', '--json', '--quiet'], {
        nodeArgs: ['--import', probe],
      });
      const report: Report = JSON.parse(answer.out);
      expect([name, report.delivery.points]).toEqual([name, points.count]);
      expect(Number(/kB (\d+)/.exec(answer.err)![1])).toBeLessThan(500_000);
      rmSync(path);
    }
  }, 60_000);

  it('records by the thousand million that the header only claims', async () => {
    const bytes = lasOf(points).slice();
    // Number of variable length records at byte 100.
    new DataView(bytes.buffer).setUint32(100, 0xffffffff, true);
    const { answer, report } = await reportOf([write('records/a.las', bytes)]);
    expect([0, 1, 3]).toContain(answer.code);
    expect(JSON.stringify(report)).not.toMatch(/internal error in cloudassay/);
  });

  it.skipIf(process.platform !== 'linux')(
    'a file that becomes shorter while it is read (skipped where /proc does not tell how far reading is)',
    async () => {
      const POINTS = 40_000_000;
      const bytes = lasOf(points).slice();
      const view = new DataView(bytes.buffer);
      const start = view.getUint32(96, true);
      const record = view.getUint16(105, true);
      view.setBigUint64(247, BigInt(POINTS), true);
      const path = write('shrinking/a.las', bytes);
      truncateSync(path, start + POINTS * record);
      write('shrinking/b.las', lasOf(points));
      const child = spawn(process.execPath, [
        program,
        'check',
        join(path, '..'),
        '--spec',
        spec,
        '--workers',
        '1',
        '--json',
        '--quiet',
      ]);
      let out = '';
      let err = '';
      child.stdout.on('data', (piece) => {
        out += piece;
      });
      child.stderr.on('data', (piece) => {
        err += piece;
      });
      const closed = new Promise((done) => child.on('close', done));
      const read = () => Number(/rchar: (\d+)/.exec(readFileSync(`/proc/${child.pid}/io`, 'utf8'))![1]);
      while (child.exitCode === null && read() < 100e6) await new Promise((later) => setTimeout(later, 5));
      truncateSync(path, start + 1000 * record);
      expect([await closed, err]).toEqual([3, '']);
      const report: Report = JSON.parse(out);
      expect(report.files[0].fault).toMatch(/the file changed while it was read.*when writing has ended/);
      expect(report.files[1].fault).toBeNull();
      rmSync(path);
    },
    120_000,
  );
});

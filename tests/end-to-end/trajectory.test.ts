import { execFile } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Report } from '../../src/report/model.js';
import { type CheckOptions, checkDelivery } from '../../src/run/check-delivery.js';
import { usualDrives } from '../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import { writeLas } from '../../src/simulate/writer/las-writer.js';
import { DVR90, UTM32 } from '../../src/simulate/writer/reference-systems.js';

// One drive of the simulated street; its trajectory is written by hand beside the times of the points that were written.
let folder = '';
let first = 0;
let last = 0;
const program = join(import.meta.dirname, '..', '..', 'bin', 'cloudassay.js');

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-driven-'));
  const street = createStreet({ origin: [561_025, 5_932_200] });
  const points = scanToColumns({ street, passes: usualDrives({ passes: 1, density: 40 }), from: -12, to: 12, seed: 3 });
  const las = writeLas({
    version: [1, 4],
    format: 6,
    scale: [0.001, 0.001, 0.001],
    offset: [561_000, 5_932_000, 0],
    crs: { as: 'wkt', horizontal: UTM32, vertical: DVR90 },
    points,
  });
  writeFileSync(join(folder, 'a.las'), las);
  const bytes = readFileSync(join(folder, 'a.las'));
  // LAS 1.4: points from byte 96, format 6 with its GPS time at byte 22 of a record.
  const begin = bytes.readUInt32LE(96);
  const length = bytes.readUInt16LE(105);
  first = Infinity;
  last = -Infinity;
  for (let at = begin; at + length <= bytes.length; at += length) {
    const time = bytes.readDoubleLE(at + 22);
    first = Math.min(first, time);
    last = Math.max(last, time);
  }
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** A trajectory at 10 Hz along the street from 90 s before the points to 90 s after them. */
function trajectory(row: (time: number, x: number) => string): string {
  const rows: string[] = [];
  for (let k = 0; k <= (last - first + 180) * 10; k++) {
    const time = first - 90 + k / 10;
    rows.push(row(time, 561_025 - 900 + k));
  }
  return `time,easting,northing,height,solution,pdop\n${rows.join('\n')}\n`;
}
const plain = (time: number, x: number, solution = 'fixed') => `${time.toFixed(3)},${x},5932200,10,${solution},1.8`;

const pathOf = (name: string, text: string) => {
  const path = join(folder, name);
  writeFileSync(path, text);
  return path;
};
const specOf = (requirements: object[]) =>
  pathOf('spec.json', JSON.stringify({ spec: '1', title: 'test', requirements }));

function check(requirements: object[], text: string, more: Partial<CheckOptions> = {}): Promise<Report> {
  const trajectory = [pathOf('drive.csv', text)];
  return checkDelivery({
    delivery: [join(folder, 'a.las')],
    spec: specOf(requirements),
    trajectory,
    workers: 1,
    ...more,
  });
}

const GOOD = [
  { id: 'TRA', check: 'trajectory-quality', maxPdop: 3, maxGap: 1, maxPointsWithout: 0 },
  { id: 'OUT', check: 'outages', maxSeconds: 60 },
];

describe('a trajectory on the command line', () => {
  it('is judged by the program, and is among the inputs with its digest and how it was read', async () => {
    const text = trajectory((time, x) => plain(time, x));
    const options = ['--spec', specOf(GOOD), '--trajectory', pathOf('drive.csv', text)];
    const args = [program, 'check', join(folder, 'a.las'), ...options, '--json', '--quiet', '--workers', '1'];
    const [code, out] = await new Promise<[number, string]>((done) => {
      execFile(process.execPath, args, { maxBuffer: 1 << 26 }, (error, stdout) =>
        done([error ? Number(error.code) : 0, stdout]),
      );
    });
    const report = JSON.parse(out) as Report;
    expect(report.requirements.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
    expect(code).toBe(0);
    const sha256 = createHash('sha256').update(text).digest('hex');
    expect(report.inputs).toContainEqual({ role: 'trajectory', file: 'drive.csv', sha256 });
    expect(report.tool.command).toContain('--trajectory drive.csv');
    expect(report.findings.map((finding) => finding.code)).toContain('trajectory-read');
  });

  it('with a loss of 61 s is rejected', async () => {
    const text = trajectory((time, x) => plain(time, x, time >= first && time < first + 61 ? 'float' : 'fixed'));
    const report = await check(GOOD, text);
    expect([report.verdict, report.requirements.map(({ verdict }) => verdict)]).toEqual(['rejected', ['pass', 'fail']]);
  });

  it('that is elsewhere makes its own requirements undetermined, and the points are judged', async () => {
    const text = trajectory((time, x) => plain(time, x + 40_000));
    const report = await check([...GOOD, { id: 'DEN', check: 'density', min: 1, share: 0.1 }], text);
    expect(report.requirements.map(({ verdict }) => verdict)).toEqual(['undetermined', 'undetermined', 'pass']);
    expect(report.requirements[0].summary).toMatch(/the trajectory is [34]\d\.\d km from the cloud/);
    expect(report.findings.map((finding) => finding.code)).toContain('trajectory-not-used');
    expect(report.verdict).toBe('undetermined');
  });

  it.each<[string, object[], Partial<CheckOptions>, RegExp]>([
    [
      'no requirement uses it',
      [{ id: 'DEN', check: 'density', min: 1 }],
      {},
      /uses the trajectory given with --trajectory/,
    ],
    [
      'its time system is unknown',
      GOOD,
      { trajectoryTime: 'local' },
      /--trajectory-time: this time system is not known/,
    ],
    ['it cannot be opened', GOOD, { trajectory: ['/nowhere.csv'] }, /there is no such trajectory file/],
  ])('is an error of the command where %s', async (_, requirements, more, sentence) => {
    const text = trajectory((time, x) => plain(time, x));
    await expect(check(requirements, text, more)).rejects.toThrow(sentence);
  });
});

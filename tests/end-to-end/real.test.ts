import { execFile } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import type { Report } from '../../src/report/model.js';
import { realClouds } from '../real-clouds.js';

/*
 * Small open samples made by many writers, checked and inspected from one end to the other. They do not belong to the
 * project: set CLOUDASSAY_REAL_CLOUDS to their folder, or keep them in a folder clouds/real of a neighbour of the project.
 * Where they are missing these tests are skipped, and say so. Numbers of points: those of the files' own headers.
 */
const folder = realClouds('tests/end-to-end/real.test.ts');
const names = folder === null ? [] : readdirSync(folder).filter((name) => /\.la[sz]$/i.test(name));

/** Samples that cannot be measured, and why: a compressor before 2011; random numbers as coordinates, at a scale of 1 m. */
const FAULTS: Record<string, RegExp> = {
  'broken_coder.laz': /this way of compressing format 1 is not supported/,
  'broken_size.laz': /this way of compressing format 1 is not supported/,
  'pdrf9-1.5.las': /lie beyond any place on Earth \(found -2,141,972,467 m/,
  'pdrf9-1.5.laz': /lie beyond any place on Earth \(found -2,141,972,467 m/,
  'pdrf10-1.4.laz': /lie beyond any place on Earth/,
};

const program = join(import.meta.dirname, '..', '..', 'bin', 'cloudassay.js');
const scratch = mkdtempSync(join(tmpdir(), 'cloudassay-real-'));
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

function run(...args: string[]): Promise<{ code: number; out: string; err: string }> {
  return new Promise((done) => {
    const options = { env: { ...process.env, NO_COLOR: '1' }, maxBuffer: 1 << 27 };
    execFile(process.execPath, [program, ...args], options, (error, out, err) =>
      done({ code: error ? Number(error.code) : 0, out, err }),
    );
  });
}

/** Nothing in words that only a program would say. */
const ODD = /internal error in cloudassay|\bNaN\b|\bundefined\b|\[object|\n\s+at .*:\d+:\d+/;

describe.skipIf(!folder)('real files from end to end', () => {
  const spec = join(scratch, 'spec.json');
  const requirements = [
    { check: 'las-structure' },
    { check: 'header-agreement' },
    { check: 'crs' },
    { check: 'point-attributes' },
    { check: 'density', min: 1, cell: 5 },
    { check: 'voids', maxArea: 1, cell: 5 },
    { check: 'duplicates' },
    { check: 'pass-agreement', maxRmsDz: 0.05 },
    { check: 'surface-precision', maxRms: 0.05 },
    { check: 'isolated-points', maxShare: 0.1 },
    { check: 'tiling', size: 1000 },
  ].map((requirement, k) => ({ id: `R-${k + 1}`, ...requirement }));
  writeFileSync(spec, JSON.stringify({ spec: '1', title: 'Samples', requirements }));

  it('all of them as one delivery: every file is read or said why not, no other way out', async () => {
    const out = join(scratch, 'report');
    const formats = 'json,html,junit,csv,geojson,md,quality';
    const answer = await run('check', folder!, '--spec', spec, '--out', out, '--formats', formats, '--workers', '2');
    expect([1, 3]).toContain(answer.code);
    expect(answer.out + answer.err).not.toMatch(ODD);
    const report: Report = JSON.parse(readFileSync(join(out, 'report.json'), 'utf8'));
    expect(report.files.map((f) => f.file).sort()).toEqual([...names].sort());
    for (const { file, fault } of report.files) {
      if (FAULTS[file]) expect(fault, file).toMatch(FAULTS[file]);
      else expect([file, fault]).toEqual([file, null]);
    }
    const read = report.files.filter((f) => f.fault === null).reduce((sum, f) => sum + f.points, 0);
    expect(report.delivery.points).toBe(read);
    expect(JSON.stringify([report.requirements.map((r) => r.summary), report.findings])).not.toMatch(ODD);
  });

  it('inspected: as many points as the header says, coordinates beyond Earth or not', async () => {
    const answer = await run('inspect', folder!, '--json');
    expect(answer.code).toBe(3);
    expect(answer.err).not.toMatch(ODD);
    const unread = answer.err.trim().split('\n');
    expect(unread.map((line) => /broken_\w+\.laz/.exec(line)?.[0])).toEqual(['broken_coder.laz', 'broken_size.laz']);
    const seen = JSON.parse(answer.out) as { file: string; points: number; contents: { points: number } }[];
    expect(seen).toHaveLength(names.length - 2);
    for (const { file, points, contents } of seen) expect([file, contents.points]).toEqual([file, points]);
  });

  it('held against the rules of the format: samples of writers in wide use break none', async () => {
    const answer = await run('inspect', folder!, '--rules', '--json');
    const { findings, files } = JSON.parse(answer.out) as {
      findings: { file: string; severity: string; rule: string }[];
      files: { file: string; fault: string | null }[];
    };
    expect(files).toHaveLength(names.length);
    const wrong = new Set(findings.filter((f) => f.severity === 'error').map((f) => f.file));
    const sound = [
      'autzen-thin.las',
      'ellipsoid.copc.laz',
      'lone-star.copc.laz',
      '32-1-472-150-76.laz',
      '1_4_w_evlr.laz',
    ];
    expect(sound.filter((file) => names.includes(file) && wrong.has(file))).toEqual([]);
    // Files with damage in their compression record are told by it.
    for (const file of ['broken_coder.laz', 'broken_size.laz']) if (names.includes(file)) expect(wrong).toContain(file);
    expect(answer.out).not.toMatch(ODD);
  });
});

import { describe, expect, it } from 'vitest';
import type { RequirementResult } from '../../src/report/model.js';
import { encodeLaz } from '../../src/simulate/encoder/laz-encoder.js';
import { encodeCopc } from '../../test-clouds/encoder/copc-encoder.js';
import { assayFiles, lasOf, zonesOf } from '../checks/check-files.js';
import { seeded } from '../geometry/seeded.js';

// Planted: 40 m by 30 m with 10 points per square metre, and beside it as much with 30, driven from west to east in strips of a
// metre. The expected numbers are the planted ones; nothing of the program takes part in making them.
const PLANTED = { west: 10, east: 30 };
const [X0, Y0] = [561_000, 5_932_000];
const STRIPS = 80;
const WIDTH = 30;

const cloud = (times = 1) => {
  const { uniform: random } = seeded(5);
  const x: number[] = [];
  const y: number[] = [];
  for (let strip = 0; strip < STRIPS; strip++) {
    const points = times * WIDTH * (strip < STRIPS / 2 ? PLANTED.west : PLANTED.east);
    for (let i = 0; i < points; i++) {
      x.push(X0 + strip + random());
      y.push(Y0 + WIDTH * random());
    }
  }
  const count = x.length;
  const gpsTime = Float64Array.from({ length: count }, (_, i) => 1e8 + i / 10_000);
  return { count, x: Float64Array.from(x), y: Float64Array.from(y), z: new Float64Array(count), gpsTime };
};
const las = lasOf(cloud());
const copc = encodeCopc(las, { nodePoints: 500 });
const zones = zonesOf(
  ['west', X0 + 2, Y0 + 1, X0 + 38, Y0 + 29],
  ['east', X0 + 42, Y0 + 1, X0 + 78, Y0 + 29],
  ['corner', X0 + 2, Y0 + 2, X0 + 4, Y0 + 4],
);
const requirements = [
  { id: 'west', check: 'density', min: 10, zone: 'west' },
  { id: 'east', check: 'density', min: 10, zone: 'east' },
  { id: 'all', check: 'density', min: 10 },
  { id: 'corner', check: 'density', min: 10, zone: 'corner' },
];
const quickLook = async (files: Record<string, Uint8Array>, sample: number) => {
  const report = await assayFiles(files, requirements, { zones, sample });
  const by = (id: string) => report.requirements.find((one) => one.id === id) as RequirementResult;
  return { report, west: by('west'), east: by('east'), all: by('all'), corner: by('corner') };
};
const COUNT = cloud().count;

describe('densities of a sample', () => {
  it.each([
    // 90 runs of 16 points in all.
    ['LAS', 0.01, 0.4],
    ['LAS', 0.1, 0.2],
    ['LAS', 0.5, 0.1],
    ['LAS', 0.99, 0.02],
    ['LAZ', 0.3, 0.25],
    ['COPC', 0.05, 0.06],
    ['COPC', 0.5, 0.06],
  ] as const)('of %s at %f are scaled to those of all points', async (format, share, within) => {
    const files = {
      LAS: () => ({ 'a.las': share === 0.01 ? lasOf(cloud(3)) : las }),
      LAZ: () => ({ 'a.laz': encodeLaz(las, { chunkSize: 150 }) }),
      COPC: () => ({ 'a.copc.laz': copc }),
    }[format]();
    const { report, west, east } = await quickLook(files, share);
    const times = share === 0.01 ? 3 : 1;
    expect(report.delivery.points / COUNT / times).toBeGreaterThan(share / 2);
    expect(report.delivery.points / COUNT / times).toBeLessThan(share * 1.2 + 0.005);
    expect(report.files[0].read).toBe(report.delivery.points);
    for (const [found, planted] of [
      [west, PLANTED.west],
      [east, PLANTED.east],
    ] as const) {
      expect(found.verdict).toBe('undetermined');
      if (share === 0.01 && planted === PLANTED.west) {
        // Few runs lie in the western half: nothing is said.
        expect(found.summary).toContain('too little was read');
        continue;
      }
      expect(found.summary).toMatch(/scaled from a sample of \d+\.\d %/);
      expect(Math.abs((found.measured.mean as number) / planted / times - 1)).toBeLessThan(within);
      // Single cells are not judged.
      expect(found.measured.share).toBeUndefined();
    }
  });

  it('of the whole delivery are those of larger cells, and of few points none', async () => {
    const { all, corner } = await quickLook({ 'a.las': las }, 0.2);
    expect(all.summary).toMatch(/cells of (2|4|8) m/);
    expect(Math.abs((all.measured.mean as number) / 20 - 1)).toBeLessThan(0.15);
    expect(corner.summary).toContain('too little was read');
    expect(corner.measured.mean).toBeUndefined();
  });

  it('of files of different shares are each scaled by its own share, and are not mixed', async () => {
    // One chunk, so the whole file is read, beside a file of which a tenth is read.
    const apart = cloud();
    for (let i = 0; i < apart.count; i++) apart.y[i] += 200;
    const files = { 'a.las': las, 'b.laz': encodeLaz(lasOf(apart), { chunkSize: COUNT }) };
    const more = zonesOf(['west', X0 + 42, Y0 + 201, X0 + 78, Y0 + 229], ['east', X0 + 42, Y0 + 1, X0 + 78, Y0 + 29]);
    const report = await assayFiles(files, requirements.slice(0, 2), { zones: more, sample: 0.1 });
    expect(report.files.map(({ read }) => Math.round((10 * read!) / COUNT))).toEqual([1, 10]);
    const [whole, tenth] = report.requirements.map(({ measured }) => measured.mean as number);
    expect(Math.abs(whole / PLANTED.east - 1)).toBeLessThan(0.02);
    expect(Math.abs(tenth / PLANTED.east - 1)).toBeLessThan(0.2);
    const mixed = { 'b.laz': files['b.laz'], 'c.las': lasOf(apart) };
    const [west] = (await assayFiles(mixed, requirements.slice(0, 2), { zones: more, sample: 0.1 })).requirements;
    expect(west.summary).toContain('files of which different shares were read lie over one another');
  });
});

describe('a sound delivery', () => {
  it('is accused by no check on a sample', async () => {
    const small = lasOf({ ...cloud(), count: 12_000 });
    const all = ['header-agreement', 'las-structure', 'duplicates', 'coverage'].map((check) => ({
      check,
      ...(check === 'coverage' ? { minShare: 1 } : {}),
    }));
    const asked = [
      ...all,
      { check: 'voids', maxArea: 4 },
      { check: 'isolated-points', maxShare: 0 },
      { check: 'point-distribution', spacing: 0.5, minShare: 0.5 },
    ];
    const forms = { 'a.las': small, 'a.copc.laz': copc };
    for (const [name, bytes] of Object.entries(forms)) {
      const report = await assayFiles({ [name]: bytes }, asked, { sample: 0.05 });
      for (const { check, verdict, summary, measured, locations, tables } of report.requirements) {
        expect([check, verdict === 'pass' || verdict === 'undetermined']).toEqual([check, true]);
        expect([check, locations]).toEqual([check, []]);
        if (check === 'las-structure') {
          expect(measured.errors).toBe(0);
          expect(tables).toEqual([]);
        } else {
          expect(summary).toMatch(/only all points together can show this\.$/);
          expect(measured).toEqual({});
        }
      }
    }
  });

  it('of 40,000 points is not read whole: about one point of a hundred of LAS, one chunk of LAZ', async () => {
    const some = cloud();
    const few = lasOf({ ...some, count: 40_000 });
    const report = await assayFiles({ 'a.las': few, 'b.laz': encodeLaz(few) }, requirements.slice(2, 3), {
      sample: 0.01,
    });
    const [a, b] = report.files;
    expect(a.read).toBeGreaterThan(300);
    expect(a.read).toBeLessThan(500);
    expect(b.read).toBe(40_000);
    const words = report.findings.find(({ code }) => code === 'quick-look')!.text;
    expect(words).toContain('At least one chunk of a LAZ file');
    expect(words).toContain(`${Math.round((1000 * report.delivery.points) / 80_000) / 10} %`);
  });
});

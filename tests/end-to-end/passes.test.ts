import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { makeWorkPlan } from '../../src/engine/work-plan.js';
import { reportJson } from '../../src/report/json.js';
import type { Report } from '../../src/report/model.js';
import { checkDelivery } from '../../src/run/check-delivery.js';
import { usualDrives } from '../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import { writeLas } from '../../src/simulate/writer/las-writer.js';
import { type SceneColumns, selectPoints } from '../../src/simulate/writer/point-columns.js';
import { DVR90, UTM32 } from '../../src/simulate/writer/reference-systems.js';

/** Three drives ten minutes apart, the second 40 mm too high: told apart in four ways, always the same 40 mm. */
const SHIFT = 0.04;
let folder = '';
let points: SceneColumns;

function las(columns: SceneColumns): Uint8Array {
  return writeLas({
    version: [1, 4],
    format: 6,
    scale: [0.001, 0.001, 0.001],
    offset: [561_000, 5_932_000, 0],
    crs: { as: 'wkt', horizontal: UTM32, vertical: DVR90 },
    points: columns,
  });
}

async function assayBy(passes: object, files: Record<string, SceneColumns>, workers = 1): Promise<Report> {
  const here = mkdtempSync(join(folder, 'run-'));
  const tiles = join(here, 'tiles');
  mkdirSync(tiles);
  for (const [name, columns] of Object.entries(files)) writeFileSync(join(tiles, name), las(columns));
  const spec = join(here, 'spec.json');
  const requirements = [{ id: 'REL', check: 'pass-agreement', maxRmsDz: 0.016 }];
  writeFileSync(spec, JSON.stringify({ spec: '1', title: 'passes', passes, requirements }));
  return checkDelivery({ delivery: [tiles], spec, workers, spanPoints: 20_000 });
}

function expectShift(report: Report): void {
  expect(report.passes).toHaveLength(3);
  expect(report.passPairs).toHaveLength(3);
  const [first, , third] = report.passPairs;
  expect(Math.abs(first.meanDz! - SHIFT)).toBeLessThan(0.001);
  expect(Math.abs(third.meanDz! + SHIFT)).toBeLessThan(0.001);
  expect(report.requirements[0].verdict).toBe('fail');
}

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-passes-'));
  const street = createStreet({ origin: [561_025, 5_932_200] });
  const passes = usualDrives({ passes: 3, density: 80, faults: [undefined, { shift: [0, 0, SHIFT] }] });
  points = scanToColumns({ street, passes, from: -12, to: 12, seed: 9 });
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('passes told apart', () => {
  it('by point source ID', async () => expectShift(await assayBy({ by: 'point-source-id' }, { 'a.las': points })));

  it('by file, named after it', async () => {
    const of = (id: number) => selectPoints(points, (i) => points.pointSourceId[i] === id);
    const report = await assayBy({ by: 'file' }, { 'p1.las': of(1), 'p2.las': of(2), 'p3.las': of(3) });
    expectShift(report);
    expect(report.passes.map((p) => p.pass)).toEqual(['p1.las', 'p2.las', 'p3.las']);
  });

  it('by scanner channel', async () => {
    const scannerChannel = points.pointSourceId.map((id) => id - 1);
    const marked = {
      ...points,
      scannerChannel: Uint8Array.from(scannerChannel),
      pointSourceId: new Uint16Array(points.count).fill(7),
    };
    expectShift(await assayBy({ by: 'scanner-channel' }, { 'a.las': marked }));
  });

  it('by pauses in GPS time, across tiles and for any number of workers', async () => {
    const unlabelled = { ...points, pointSourceId: new Uint16Array(points.count).fill(7) };
    const tiles = {
      'west.las': selectPoints(unlabelled, (i) => unlabelled.x[i] < 561_025),
      'east.las': selectPoints(unlabelled, (i) => unlabelled.x[i] >= 561_025),
    };
    const report = await assayBy({ by: 'gps-time-gap', gap: 60 }, tiles);
    expectShift(report);
    expect(report.delivery.points).toBe(points.count);
    const parallel = await assayBy({ by: 'gps-time-gap', gap: 60 }, tiles, 3);
    expect(reportJson(parallel)).toBe(reportJson(report));
  });
});

/** The same points as a vehicle with two scanner heads would deliver them: half of every drive from each. */
function twoHeads(): SceneColumns {
  return { ...points, scannerChannel: Uint8Array.from({ length: points.count }, (_, i) => Math.floor(i / 50) % 2) };
}

describe('passes by several criteria', () => {
  it('the heads of every drive, in any order of criteria, files and workers', async () => {
    const heads = twoHeads();
    const tiles = (west: string, east: string) => ({
      [west]: selectPoints(heads, (i) => heads.x[i] < 561_025),
      [east]: selectPoints(heads, (i) => heads.x[i] >= 561_025),
    });
    const report = await assayBy({ by: ['point-source-id', 'scanner-channel'] }, tiles('a.las', 'b.las'));
    expect(report.delivery.passesBy).toBe('point-source-id and scanner-channel');
    const labels = [1, 2, 3].flatMap((id) => [0, 1].map((channel) => `source ${id}, channel ${channel}`));
    expect(report.passes.map((p) => p.pass)).toEqual(labels);
    for (const { pass, points: n } of report.passes) {
      const [id, channel] = pass.match(/\d+/g)!.map(Number);
      const own = heads.pointSourceId.filter((s, i) => s === id && heads.scannerChannel[i] === channel);
      expect(n).toBe(own.length);
    }
    expect(report.passPairs).toHaveLength(15);
    for (const { a, b, meanDz } of report.passPairs) {
      const planted = (b.includes('source 2') ? SHIFT : 0) - (a.includes('source 2') ? SHIFT : 0);
      expect(Math.abs(meanDz! - planted), `${a} and ${b}`).toBeLessThan(0.001);
    }
    const parallel = await assayBy({ by: ['scanner-channel', 'point-source-id'] }, tiles('a.las', 'b.las'), 3);
    expect(withoutSpec(parallel)).toBe(withoutSpec(report));
    const swapped = await assayBy({ by: ['point-source-id', 'scanner-channel'] }, tiles('b.las', 'a.las'));
    expect(swapped.passPairs).toEqual(report.passPairs);
    // A list of one criterion is the criterion.
    const [one, listed] = [
      await assayBy({ by: 'file' }, tiles('a.las', 'b.las')),
      await assayBy({ by: ['file'] }, tiles('a.las', 'b.las')),
    ];
    expect(withoutSpec(listed)).toBe(withoutSpec(one));
  });

  it('files, pauses in GPS time and channels together', async () => {
    const heads = { ...twoHeads(), pointSourceId: new Uint16Array(points.count).fill(7) };
    const west = selectPoints(heads, (i) => heads.x[i] < 561_025);
    const report = await assayBy(
      { by: ['gps-time-gap', 'scanner-channel', 'file'], gap: 60 },
      { 'a.las': west, 'b.las': selectPoints(heads, (i) => heads.x[i] >= 561_025) },
    );
    expect(report.passes).toHaveLength(12);
    expect(report.passes[0].pass).toMatch(/^a\.las, drive 1, from GPS time [\d.]+ s, channel 0$/);
    expect(report.passes.reduce((sum, pass) => sum + pass.points, 0)).toBe(points.count);
  });
});

/** A report but for the digest of its spec. */
function withoutSpec(report: Report): string {
  return reportJson({ ...report, spec: { ...report.spec, sha256: '' }, inputs: [] });
}

describe('one large file', () => {
  it('is cut into spans, so that it fills all workers', async () => {
    const path = join(folder, 'one.las');
    writeFileSync(path, las(points));
    const { tasks } = await makeWorkPlan([{ address: path, name: 'one.las' }], null, 10_000);
    expect(tasks.length).toBe(Math.ceil(points.count / 10_000));
    expect(tasks.reduce((sum, { span }) => sum + span.points, 0)).toBe(points.count);
    expect(new Set(tasks.map(({ span }) => span.first)).size).toBe(tasks.length);
  });
});

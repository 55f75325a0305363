import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { reportJson } from '../../src/report/json.js';
import type { Report } from '../../src/report/model.js';
import { checkDelivery } from '../../src/run/check-delivery.js';
import { driveStreet } from '../../src/simulate/drive/drive-street.js';
import { trajectoryCsv } from '../../src/simulate/drive/trajectory-csv.js';
import { trajectoryRows } from '../../src/simulate/drive/trajectory-rows.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import { writeLas } from '../../src/simulate/writer/las-writer.js';
import { DVR90, UTM32 } from '../../src/simulate/writer/reference-systems.js';

let folder = '';
const street = createStreet({ origin: [561_025, 5_932_200], headingDegrees: 20 });
const drive = driveStreet({
  street,
  from: -12,
  to: 12,
  legs: [
    { lane: -2, direction: 1 },
    { lane: 2, direction: -1 },
    { lane: -2, direction: 1 },
  ],
  alignmentBefore: { standSeconds: 5, loops: 1 },
  alignmentAfter: null,
  pattern: { by: 'surface', spacing: 0.25 },
});

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-vehicle-'));
  mkdirSync(join(folder, 'tiles'));
  const points = scanToColumns({ street, passes: drive.passes, from: -12, to: 12, seed: 9 });
  // One point source ID for all: the passes can only be known from the trajectory.
  points.pointSourceId.fill(7);
  const las = writeLas({
    version: [1, 4],
    format: 6,
    scale: [0.001, 0.001, 0.001],
    offset: [561_000, 5_932_000, 0],
    crs: { as: 'wkt', horizontal: UTM32, vertical: DVR90 },
    points,
  });
  writeFileSync(join(folder, 'tiles', 'a.las'), las);
  writeFileSync(join(folder, 'drive.csv'), trajectoryCsv(trajectoryRows(drive, { rate: 20 })));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function check(more: Record<string, unknown>, options: object = {}): Promise<Report> {
  const spec = join(mkdtempSync(join(folder, 'run-')), 'spec.json');
  const requirements = [
    { id: 'REL', check: 'pass-agreement', maxRmsDz: 0.016 },
    { id: 'RANGE', check: 'range', maxRange: 30, maxFarShare: 0.05, captureWithin: 20, maxFarArea: 4 },
  ];
  writeFileSync(spec, JSON.stringify({ spec: '1', title: 'vehicle', requirements, ...more }));
  const trajectory = [join(folder, 'drive.csv')];
  return checkDelivery({
    delivery: [join(folder, 'tiles')],
    spec,
    trajectory,
    workers: 1,
    spanPoints: 20_000,
    ...options,
  });
}

describe('a delivery with a trajectory', () => {
  it('is judged by distance from the scanner, in passes by the sections of its drives, alike for any number of workers', async () => {
    const passes = { by: ['trajectory', 'scanner-channel'] };
    const report = await check({ passes });
    expect(report.passes.map(({ pass }) => pass.replace(/ \d+°/, ''))).toEqual(
      [1, 2, 3].flatMap((n) => [0, 1].map((c) => `drive 1, section ${n}, towards, channel ${c}`)),
    );
    expect(report.requirements.map(({ verdict }) => verdict)).toEqual(['pass', 'pass']);
    const [, range] = report.requirements;
    expect(range.measured.placedShare).toBe(1);
    expect(range.measured.farShare).toBe(0);
    expect(reportJson(await check({ passes }, { workers: 2 }))).toBe(reportJson(report));
  });

  it('keeps what it measured with the track of the vehicle in its key', async () => {
    const cache = join(folder, 'cache');
    const first = await check({}, { cache });
    expect(reportJson(await check({}, { cache }))).toBe(reportJson(first));
  });

  it('takes a trajectory for the frame of the vehicle where passes are compared along GPS time', async () => {
    const requirements = [{ id: 'DRIFT', check: 'pass-drift', maxOffset: 0.02, bin: 0.5, minBins: 2 }];
    // The vehicle turns around for more than 3 s between its passes.
    const report = await check({ requirements, passes: { by: 'gps-time-gap', gap: 3 } });
    const titles = JSON.stringify(report.requirements[0].tables);
    expect(titles).toContain('Largest offset of each pass from the others in the frame of its vehicle');
  });

  it('refuses passes by trajectory without one', async () => {
    await expect(check({ passes: { by: 'trajectory' } }, { trajectory: null })).rejects.toThrow(
      /no trajectory is given/,
    );
  });
});

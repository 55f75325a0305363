import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Report } from '../../src/report/model.js';
import { usualDrives } from '../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import { surveyPoints } from '../../src/simulate/scene/survey.js';
import { UTM33 } from '../../src/simulate/writer/reference-systems.js';
import { assayFiles, lasOf } from '../checks/check-files.js';
import { utm } from './utm.js';

// 780,000 m in zone 32 lies about 13.3 degrees east: in zone 33, whose points a neighbour might hand in.
const street = createStreet({ origin: [780_000, 5_950_000] });
const survey = surveyPoints(street, {
  count: 8,
  role: 'check',
  prefix: 'CP',
  uFrom: -9,
  uTo: 9,
  vFrom: -2.5,
  vTo: 2.5,
  sigma: 0.001,
  seed: 4,
});
const cloud = lasOf(
  scanToColumns({ street, passes: usualDrives({ passes: 1, density: 60 }), from: -12, to: 12, seed: 2 }),
  { offset: [780_000, 5_950_000, 0] },
);
let folder = '';

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-points-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

function points(name: string, zone: number, head = ''): string {
  const rows = survey.map((p) => {
    const [x, y] = zone === 32 ? [p.x, p.y] : utm.forward(zone, ...utm.inverse(32, p.x, p.y));
    return `${p.id},${x.toFixed(4)},${y.toFixed(4)},${p.z.toFixed(3)}`;
  });
  const path = join(folder, name);
  writeFileSync(path, `${head}id,easting,northing,height\n${rows.join('\n')}\n`);
  return path;
}

const assayWith = (path: string, pointsCrs?: string): Promise<Report> =>
  assayFiles({ 'a.las': cloud }, [{ check: 'vertical-accuracy', maxRmse: 0.02, minPoints: 8 }], {
    points: path,
    pointsCrs,
  });

describe('survey points in the neighbouring zone', () => {
  it('give the same places and heights as those in the zone of the cloud', async () => {
    const here = await assayWith(points('zone32.csv', 32));
    expect(here.requirements[0].verdict).toBe('pass');
    const grid = join(folder, 'grid.prj');
    writeFileSync(grid, UTM33.wkt);
    const there = [
      await assayWith(points('zone33.csv', 33), 'EPSG:25833'),
      await assayWith(points('zone33.csv', 33), grid),
      await assayWith(points('stated.csv', 33, '# crs: EPSG:25833\n')),
    ];
    for (const report of there) {
      expect(report.requirements[0].measured.used).toBe(8);
      report.surveyPoints.forEach((point, i) => {
        // Given to 0.1 mm in either zone.
        expect(Math.hypot(point.x - here.surveyPoints[i].x, point.y - here.surveyPoints[i].y)).toBeLessThan(0.0002);
        expect(Math.abs(point.dz! - here.surveyPoints[i].dz!)).toBeLessThan(0.0002);
        expect(point.z).toBe(here.surveyPoints[i].z);
      });
      expect(report.findings.map((finding) => finding.code)).toEqual(['points-projected']);
    }
    expect(there[0].tool.command).toContain('--points-crs EPSG:25833');
    expect(there[1].tool.command).toContain('--points-crs grid.prj');
    expect(here.findings).toEqual([]);
  });

  it('are nowhere near the cloud when the zone is not stated', async () => {
    const report = await assayWith(points('silent.csv', 33));
    expect(report.requirements[0].verdict).toBe('undetermined');
    expect(report.requirements[0].causes.map(({ rule }) => rule)).toEqual(['points-elsewhere']);
  });

  it('are refused on another datum', async () => {
    await expect(assayWith(points('zone33.csv', 33), 'EPSG:32633')).rejects.toThrow('different datums');
  });
});

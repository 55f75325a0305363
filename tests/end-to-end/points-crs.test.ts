import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Report } from '../../src/report/model.js';
import { usualDrives } from '../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import { surveyPoints } from '../../src/simulate/scene/survey.js';
import { selectPoints } from '../../src/simulate/writer/point-columns.js';
import { DVR90, UTM33 } from '../../src/simulate/writer/reference-systems.js';
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

function writePoints(name: string, zone: number, head = ''): string {
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
    const here = await assayWith(writePoints('zone32.csv', 32));
    expect(here.requirements[0].verdict).toBe('pass');
    const grid = join(folder, 'grid.prj');
    writeFileSync(grid, UTM33.wkt);
    const there = [
      await assayWith(writePoints('zone33.csv', 33), 'EPSG:25833'),
      await assayWith(writePoints('zone33.csv', 33), grid),
      await assayWith(writePoints('stated.csv', 33, '# crs: EPSG:25833\n')),
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
    const report = await assayWith(writePoints('silent.csv', 33));
    expect(report.requirements[0].verdict).toBe('undetermined');
    expect(report.requirements[0].causes.map(({ rule }) => rule)).toEqual(['points-elsewhere']);
  });

  it('are refused on another datum', async () => {
    await expect(assayWith(writePoints('zone33.csv', 33), 'EPSG:32633')).rejects.toThrow('different datums');
  });
});

describe('one tile that states the neighbouring zone', () => {
  const points = scanToColumns({ street, passes: usualDrives({ passes: 1, density: 60 }), from: -12, to: 12, seed: 2 });
  const part = (k: number) => selectPoints(points, (i) => i % 3 === k);
  const offset: [number, number, number] = [780_000, 5_950_000, 0];
  const files = {
    'a.las': lasOf(part(0), { offset, crs: { as: 'wkt', horizontal: UTM33, vertical: DVR90 } }),
    'b.las': lasOf(part(1), { offset }),
    'c.las': lasOf(part(2), { offset }),
  };
  const square = [
    [779_900, 5_949_900],
    [780_100, 5_949_900],
    [780_100, 5_950_100],
    [779_900, 5_950_100],
    [779_900, 5_949_900],
  ];
  const zones = JSON.stringify({
    type: 'FeatureCollection',
    crs: { type: 'name', properties: { name: 'urn:ogc:def:crs:EPSG::25832' } },
    features: [{ type: 'Feature', properties: { name: 'road' }, geometry: { type: 'Polygon', coordinates: [square] } }],
  });
  const requirements = [{ check: 'crs' }, { check: 'vertical-accuracy', maxRmse: 0.02, minPoints: 8, zone: 'road' }];

  it.each([undefined, { horizontal: 'EPSG:25832' }])(
    'is the finding; points and zones keep their system (%o)',
    async (crs) => {
      const given = { points: join(folder, 'labelled.csv'), zones, crs };
      writePoints('labelled.csv', 32, '# crs: EPSG:25832\n');
      const report = await assayFiles(files, requirements, given);
      expect(report.delivery.crs.horizontal).toBe('EPSG:25832');
      expect(report.requirements[0].measured.mismatches).toBe(1);
      expect(report.requirements[0].locations.map(({ file }) => file)).toEqual(['a.las']);
      expect(report.requirements[1].verdict).toBe('pass');
    },
  );
});

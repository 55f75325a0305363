import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { writeReport } from '../../src/index.js';
import { quayRoad } from '../report/sample.js';

const folder = mkdtempSync(join(tmpdir(), 'cloudassay-write-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Coordinates of the points of report.geojson that have this requirement's first location. */
async function pointsWritten(crs: { horizontal: string | null; wkt: string | null }): Promise<number[][]> {
  const report = quayRoad();
  report.delivery.crs = { ...report.delivery.crs, ...crs, metresPerUnit: 1 };
  const [first] = report.requirements;
  first.locations = [{ x: 500_000, y: 0, value: null, unit: 'm', note: 'here' }];
  await writeReport(report, folder, ['geojson']);
  const { features } = JSON.parse(readFileSync(join(folder, 'report.geojson'), 'utf8'));
  return features
    .map((f: { geometry: { type: string; coordinates: number[] } | null }) => f.geometry)
    .filter((g: { type: string } | null) => g?.type === 'Point')
    .map((g: { coordinates: number[] }) => g.coordinates);
}

// Snyder, Map Projections: A Working Manual (USGS Professional Paper 1395): on the central meridian x is the false easting,
// and the northing on the equator is 0. EPSG:25832 has its central meridian at 9 degrees and a false easting of 500,000 m.
it('writes GeoJSON in longitude and latitude for a user of the library', async () => {
  const points = await pointsWritten({ horizontal: 'EPSG:25832', wkt: null });
  expect(points.some(([x, y]) => Math.abs(x - 9) < 1e-7 && Math.abs(y) < 1e-7)).toBe(true);
});

it('keeps the coordinates of the cloud where its system is not known', async () => {
  const points = await pointsWritten({ horizontal: null, wkt: null });
  expect(points.some(([x, y]) => x === 500_000 && y === 0)).toBe(true);
});

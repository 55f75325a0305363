import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Report } from '../../src/report/model.js';
import { changeUnit } from '../../src/simulate/scene/delivery-faults.js';
import { usualDrives } from '../../src/simulate/scene/drives.js';
import { scanToColumns } from '../../src/simulate/scene/scanner.js';
import { createStreet } from '../../src/simulate/scene/street.js';
import { surveyPoints } from '../../src/simulate/scene/survey.js';
import { type SceneColumns, selectPoints } from '../../src/simulate/writer/point-columns.js';
import {
  DVR90,
  type HorizontalSystem,
  INTERNATIONAL_FOOT,
  NAVD88,
  NAVD88_FOOT,
  NAVD88_FOOT_US,
  STATE_PLANE_FOOT,
  STATE_PLANE_FOOT_US,
  US_SURVEY_FOOT,
  UTM32,
  type VerticalSystem,
} from '../../src/simulate/writer/reference-systems.js';
import { assayFiles, lasOf, zonesOf } from '../checks/check-files.js';

const street = createStreet({ origin: [561_010, 932_200], heightAtOrigin: 12 });
const survey = surveyPoints(street, {
  count: 10,
  role: 'check',
  prefix: 'CP',
  uFrom: -9,
  uTo: 9,
  vFrom: -2.5,
  vTo: 2.5,
  sigma: 0.003,
  seed: 6,
});
/** Three drives, the second 12 mm high and 15 mm off; coordinates to the whole millimetre. */
const scene = scanToColumns({
  street,
  passes: usualDrives({ passes: 3, density: 70, faults: [undefined, { shift: [0.015, -0.01, 0.012] }] }),
  from: -12,
  to: 12,
  seed: 31,
});

const REQUIREMENTS = [
  { check: 'vertical-accuracy', maxRmse: 0.02, minPoints: 10 },
  { check: 'pass-agreement', maxRmsDz: 0.016, maxShift: 0.015, minPoints: 8 },
  { check: 'pass-drift', maxOffset: 0.016, bin: 0.5, minPoints: 6, minBins: 3 },
  { check: 'surface-precision', maxRms: 0.012, minPoints: 8 },
  { check: 'density', cell: 1, min: 150, share: 0.9, zone: 'road' },
  { check: 'voids', maxArea: 1, zone: 'road' },
  { check: 'coverage', zone: 'road', cell: 1 },
  { check: 'isolated-points', maxShare: 0.01 },
  { check: 'header-agreement' },
];

/** How a delivery is written: systems, record, and the units that are to be read from them. */
interface Units {
  horizontal: HorizontalSystem;
  vertical: VerticalSystem | null;
  as: 'wkt' | 'geotiff';
}

const METRES: Units = { horizontal: UTM32, vertical: DVR90, as: 'wkt' };
const heightUnit = ({ horizontal, vertical }: Units) => vertical?.metresPerUnit ?? horizontal.metresPerUnit;
let folder = '';

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'cloudassay-feet-'));
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** The scene in other units: stored in steps of 0.0001 ft (0.03 mm), so that every millimetre is told from the next. */
function write(points: SceneColumns, units: Units): Uint8Array {
  const [plan, height] = [units.horizontal.metresPerUnit, heightUnit(units)];
  const own = { ...points, x: points.x.slice(), y: points.y.slice(), z: points.z.slice() };
  changeUnit(own, plan, height);
  const steps = (metres: number) => (metres === 1 ? 0.001 : 0.0001);
  return lasOf(own, {
    scale: [steps(plan), steps(plan), steps(height)],
    offset: [Math.floor(561_000 / plan), Math.floor(932_000 / plan), 0],
    crs: units,
    ...(units.as === 'geotiff' ? { version: [1, 2], format: 1 } : {}),
  });
}

function writePoints(units: Units): string {
  const [plan, height] = [units.horizontal.metresPerUnit, heightUnit(units)];
  const rows = survey.map((p) => [p.id, (p.x / plan).toFixed(5), (p.y / plan).toFixed(5), (p.z / height).toFixed(5)]);
  const path = join(folder, 'points.csv');
  writeFileSync(path, `id,easting,northing,height\n${rows.map((row) => row.join()).join('\n')}\n`);
  return path;
}

function assayIn(units: Units, requirements: Record<string, unknown>[] = REQUIREMENTS): Promise<Report> {
  const plan = units.horizontal.metresPerUnit;
  const zone = [561_000, 932_195, 561_020, 932_205].map((v) => v / plan) as [number, number, number, number];
  return assayFiles({ 'street.las': write(scene, units) }, requirements, {
    points: writePoints(units),
    zones: zonesOf(['road', ...zone]),
  });
}

const UNITS: [string, Units][] = [
  ['international feet', { horizontal: STATE_PLANE_FOOT, vertical: NAVD88_FOOT, as: 'wkt' }],
  ['US survey feet', { horizontal: STATE_PLANE_FOOT_US, vertical: NAVD88_FOOT_US, as: 'wkt' }],
  ['US survey feet, heights in metres', { horizontal: STATE_PLANE_FOOT_US, vertical: NAVD88, as: 'wkt' }],
  [
    'international feet, heights in US survey feet',
    { horizontal: STATE_PLANE_FOOT, vertical: NAVD88_FOOT_US, as: 'wkt' },
  ],
  ['metres, heights in international feet', { horizontal: UTM32, vertical: NAVD88_FOOT, as: 'wkt' }],
  ['US survey feet without a vertical system', { horizontal: STATE_PLANE_FOOT_US, vertical: null, as: 'wkt' }],
  ['US survey feet in GeoTIFF keys', { horizontal: STATE_PLANE_FOOT_US, vertical: NAVD88_FOOT_US, as: 'geotiff' }],
];

// Feet by definition: 0.3048 m, and 1200/3937 m. The same scene in metres is the truth.
describe('a delivery in feet', () => {
  it('the scene has something to measure', async () => {
    const report = await assayIn(METRES);
    const [heights, passes] = report.requirements;
    expect(heights.measured.used).toBe(10);
    expect(Math.abs(passes.measured.shift! - Math.hypot(0.015, 0.01, 0.012))).toBeLessThan(0.001);
    expect(report.requirements.map((r) => r.verdict)).not.toContain('undetermined');
  });

  it.each(UNITS)('%s: every figure is that of metres', async (_, units) => {
    const [metres, feet] = [await assayIn(METRES), await assayIn(units)];
    expect(feet.delivery.crs.metresPerUnit).toBe(units.horizontal.metresPerUnit);
    feet.requirements.forEach((requirement, i) => {
      const expected = metres.requirements[i];
      expect(requirement.verdict, requirement.id).toBe(expected.verdict);
      expect(requirement.limits).toEqual(expected.limits);
      for (const [name, value] of Object.entries(expected.measured)) {
        const found = requirement.measured[name];
        if (value === null) expect(found, `${requirement.check} ${name}`).toBeNull();
        // Survey points are given to 0.003 mm; everything else comes from the same tenths of a millimetre.
        else if (requirement.check === 'vertical-accuracy') expect(Math.abs(found! - value)).toBeLessThan(0.00005);
        else expect(found, `${requirement.check} ${name}`).toBe(value);
      }
    });
    expect(feet.passPairs).toEqual(metres.passPairs);
    expect(feet.delivery.extent).toEqual(metres.delivery.extent);
    expect(feet.delivery.area).toBe(metres.delivery.area);
    expect(feet.overview).toEqual(metres.overview);
    feet.surveyPoints.forEach((point, i) => {
      const expected = metres.surveyPoints[i];
      for (const key of ['x', 'y', 'z', 'dz'] as const)
        expect(Math.abs(point[key]! - expected[key]!)).toBeLessThan(0.00005);
    });
  });

  it('tiles of a scheme agreed in feet are told by the grid and by their names', async () => {
    const units: Units = { horizontal: STATE_PLANE_FOOT_US, vertical: NAVD88_FOOT_US, as: 'wkt' };
    // Tiles of 30 ft from whole hundreds on: 561,000 m is 1,840,547.5 ft.
    const tileOf = (i: number) => [scene.x[i], scene.y[i]].map((v) => Math.floor(v / US_SURVEY_FOOT / 30) * 30);
    const tiles = new Map<string, SceneColumns>();
    for (let i = 0; i < scene.count; i++) {
      const name = tileOf(i).join('_');
      if (!tiles.has(name))
        tiles.set(
          name,
          selectPoints(scene, (k) => tileOf(k).join('_') === name),
        );
    }
    expect(tiles.size).toBeGreaterThan(4);
    const files = Object.fromEntries([...tiles].map(([name, points]) => [`street_${name}.las`, write(points, units)]));
    const grid = { check: 'tiling', size: 30, unit: 'cloud', name: 'street_{x}_{y}' };
    const [named, cut, metres] = (
      await assayFiles(files, [grid, { check: 'tiling', size: 30, unit: 'cloud' }, { ...grid, unit: 'metre' }])
    ).requirements;
    for (const { verdict, measured, summary } of [named, cut]) {
      expect(measured).toMatchObject({ tiles: tiles.size, misplaced: 0, overlapping: 0, outside: 0 });
      expect(verdict).toBe('pass');
      expect(summary).toContain('30 units of the cloud');
    }
    expect(metres.measured.misplaced).toBe(tiles.size);
  });

  it('a unit that the files do not state is that of the spec', async () => {
    const units: Units = { horizontal: STATE_PLANE_FOOT, vertical: NAVD88_FOOT, as: 'wkt' };
    const silent = write(scene, units);
    // The same bytes without their record of the system: by lasOf without one.
    const own = { ...scene, x: scene.x.slice(), y: scene.y.slice(), z: scene.z.slice() };
    changeUnit(own, INTERNATIONAL_FOOT, INTERNATIONAL_FOOT);
    const bare = lasOf(own, {
      scale: [0.0001, 0.0001, 0.0001],
      offset: [Math.floor(561_000 / 0.3048), Math.floor(932_000 / 0.3048), 0],
      crs: null,
    });
    const requirement = { check: 'pass-agreement', maxRmsDz: 0.016, minPoints: 8 };
    const crs = { unit: 'foot' };
    const [stated, declared] = await Promise.all([
      assayFiles({ 'a.las': silent }, [requirement]),
      assayFiles({ 'a.las': bare }, [requirement], { crs }),
    ]);
    expect(declared.requirements[0].measured).toEqual(stated.requirements[0].measured);
  });
});

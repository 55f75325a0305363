import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { crsOfWkt } from '../../src/cloud/crs.js';
import { type CloudSystem, pointsCrsText, pointsSystem } from '../../src/crs/points-crs.js';
import { DVR90, UTM32 } from '../../src/simulate/writer/reference-systems.js';

const declared = { horizontal: null, vertical: null, unit: null };
const cloud = { crs: crsOfWkt(`COMPD_CS["both",${UTM32.wkt},${DVR90.wkt}]`), declared };
const unknown = { crs: null, declared };
const find = (asked: string | null, stated: string | null = null, of: CloudSystem = cloud) =>
  pointsSystem(asked, stated, of, 'points.csv');

describe('the system of the points against the cloud', () => {
  it('nothing to do without a statement, or with that of the cloud', () => {
    expect(find(null)).toBeNull();
    expect(find('EPSG:25832')).toBeNull();
    expect(find(null, 'EPSG:25832')).toBeNull();
    expect(find('EPSG:25832+5799')).toBeNull();
    expect(find(UTM32.wkt)).toBeNull();
  });

  it('another zone on the same datum is projected', () => {
    const system = find('EPSG:25833')!;
    expect(system).toMatchObject({ name: 'EPSG:25833', metresPerUnit: 1, metresPerUnitHeight: 1 });
    // 500,000 m in zone 33 is 15 degrees east, 6 degrees east of the middle of zone 32
    const [x] = system.transform(500_000, 5_900_000)!;
    expect(x).toBeGreaterThan(890_000);
    expect(x).toBeLessThan(910_000);
  });

  it('another datum is refused, with both names', () => {
    expect(() => find('EPSG:32632')).toThrow(
      /points.csv: points and cloud are on different datums, and datum transformations are not supported \(found EPSG:32632 on WGS 84, expected .* on ETRS89\)/,
    );
  });

  it('other heights are refused, never converted', () => {
    expect(() => find('EPSG:25833+7837')).toThrow(
      /different height systems, and heights are not converted \(found EPSG:7837, expected EPSG:5799\)/,
    );
    expect(find('EPSG:25833+5799')).not.toBeNull();
    const compound = `COMPD_CS["x",${UTM32.wkt},VERT_CS["another height",VERT_DATUM["d",2005],UNIT["metre",1]]]`;
    expect(() => find(compound)).toThrow('another height');
    const spec = { crs: null, declared: { ...declared, horizontal: 'EPSG:25832', vertical: 'EPSG:5799' } };
    expect(() => find('EPSG:25833+7837', null, spec)).toThrow('heights are not converted');
    expect(find('EPSG:25833', null, spec)).not.toBeNull();
  });

  it('what is not known by its code asks for WKT', () => {
    expect(() => find('EPSG:2263')).toThrow(
      /for the points, EPSG:2263 is not among .* Give --points-crs a file with its WKT/,
    );
    const spec = { crs: null, declared: { ...declared, horizontal: 'EPSG:2263' } };
    expect(() => find('EPSG:25832', null, spec)).toThrow(/for the cloud, EPSG:2263 is not among/);
  });

  it('degrees, contradictions and clouds without a system are refused', () => {
    expect(() => find('+proj=longlat +datum=WGS84')).toThrow('longitude and latitude');
    expect(() => find('EPSG:25833', 'EPSG:25832')).toThrow(
      /--points-crs name different .* \(found EPSG:25832, expected EPSG:25833\)/,
    );
    expect(() => find('EPSG:25833', null, unknown)).toThrow('neither the cloud nor the spec states one');
    expect(find(null, 'EPSG:25833', unknown)).toBeNull();
  });
});

describe('the text of --points-crs', () => {
  it('is a code, WKT, a PROJ string, or that of a file', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'cloudassay-points-crs-'));
    try {
      const [good, bad] = [join(folder, 'grid.prj'), join(folder, 'notes.txt')];
      writeFileSync(good, `${UTM32.wkt}\n`);
      writeFileSync(bad, 'the usual grid');
      expect(await pointsCrsText('EPSG:25833')).toBe('EPSG:25833');
      expect(await pointsCrsText('+proj=utm +zone=33')).toBe('+proj=utm +zone=33');
      expect(await pointsCrsText(good)).toBe(UTM32.wkt);
      await expect(pointsCrsText(bad)).rejects.toThrow('does not contain an EPSG code, WKT or PROJ string');
      await expect(pointsCrsText(join(folder, 'none'))).rejects.toThrow('there is no file of that name');
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });
});

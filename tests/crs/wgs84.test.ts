import { describe, expect, test } from 'vitest';
import { transformToWgs84 } from '../../src/crs/wgs84.js';

function geographic(name: string, ellipsoid: string, shift = ''): string {
  return `GEOGCS["${name}",DATUM["${name}",SPHEROID[${ellipsoid}]${shift}],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]`;
}

function transverseMercator(geo: string, unit: string, falseEasting: number): string {
  return `PROJCS["plane",${geo},PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],PARAMETER["central_meridian",9],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",${falseEasting}],PARAMETER["false_northing",0],${unit}]`;
}

const GRS80 = '"GRS 1980",6378137,298.257222101';
const BESSEL = '"Bessel 1841",6377397.155,299.1528128';
const ETRS89 = geographic('European_Terrestrial_Reference_System_1989', GRS80);
const metres = (wkt: string | null, horizontal: string | null = null) => ({ horizontal, metresPerUnit: 1, wkt });

describe('plan coordinates to WGS 84', () => {
  // Snyder, Map Projections: A Working Manual (USGS 1395): on the central meridian x is the false easting, and the
  // northing on the equator is 0, whatever the ellipsoid.
  test('the central meridian and the equator are where the projection says', () => {
    const at = transformToWgs84(metres(transverseMercator(ETRS89, 'UNIT["metre",1]', 500_000)));
    const [longitude, latitude] = at?.(500_000, 0) ?? [];
    expect(longitude).toBeCloseTo(9, 9);
    expect(latitude).toBeCloseTo(0, 9);
  });

  test('WKT and EPSG code of the same system agree: ETRS89 / UTM zone 32N', () => {
    const byWkt = transformToWgs84(metres(transverseMercator(ETRS89, 'UNIT["metre",1]', 500_000)));
    const byCode = transformToWgs84(metres(null, 'EPSG:25832'));
    const [a, b] = [byWkt?.(561_000, 5_932_000) ?? [], byCode?.(561_000, 5_932_000) ?? []];
    expect(a[0]).toBeCloseTo(b[0], 9);
    expect(a[1]).toBeCloseTo(b[1], 9);
  });

  test('reports are in metres, also where the cloud is in feet', () => {
    const foot = 0.3048006096012192;
    const wkt = transverseMercator(ETRS89, `UNIT["US survey foot",${foot}]`, 500_000 / foot);
    const inFeet = transformToWgs84({ horizontal: null, metresPerUnit: foot, wkt });
    const inMetres = transformToWgs84(metres(null, 'EPSG:25832'));
    const [a, b] = [inFeet?.(561_000, 5_932_000) ?? [], inMetres?.(561_000, 5_932_000) ?? []];
    expect(a[0]).toBeCloseTo(b[0], 8);
    expect(a[1]).toBeCloseTo(b[1], 8);
  });

  test('an older datum needs its shift: without one no place is better than a wrong one', () => {
    const dhdn = (shift: string) =>
      metres(transverseMercator(geographic('Unnamed_old_datum', BESSEL, shift), 'UNIT["metre",1]', 500_000));
    expect(transformToWgs84(dhdn(''))).toBeNull();
    const shifted = transformToWgs84(dhdn(',TOWGS84[598.1,73.7,418.2,0.202,0.045,-2.455,6.7]'))?.(561_000, 5_932_000);
    const plain = transformToWgs84(metres(null, 'EPSG:25832'))?.(561_000, 5_932_000);
    const apart = Math.abs((shifted?.[1] ?? 0) - (plain?.[1] ?? 0)) * 111_000;
    // about 600 m on the ground, shift and other ellipsoid together: far from nothing, far from nonsense
    expect(apart).toBeGreaterThan(50);
    expect(apart).toBeLessThan(1500);
  });

  test('a code stands in for WKT that cannot be read; a local system has no way', () => {
    expect(transformToWgs84(metres('PROJCS["broken', 'EPSG:32633'))).not.toBeNull();
    expect(transformToWgs84(metres('LOCAL_CS["site"]', null))).toBeNull();
    expect(transformToWgs84(metres(null, 'EPSG:2263'))).toBeNull();
    expect(transformToWgs84(metres(null, null))).toBeNull();
    expect(transformToWgs84(metres(ETRS89, null))).toBeNull();
  });
});

import { describe, expect, it } from 'vitest';
import { systemByCode } from '../../src/crs/epsg-families.js';
import { type PlaneSystem, planeSystem, planTransform, sameDatum } from '../../src/crs/projection.js';

function system(definition: string): PlaneSystem {
  const found = planeSystem(definition);
  if ('problem' in found) throw new Error(found.problem);
  return found;
}

const radians = (degrees: number, minutes = 0, seconds = 0) =>
  (Math.sign(degrees || 1) * (Math.abs(degrees) + minutes / 60 + seconds / 3600) * Math.PI) / 180;

function projected(
  name: string,
  datum: string,
  ellipsoid: string,
  method: string,
  parameters: Record<string, number>,
  unit = 'UNIT["metre",1]',
): string {
  const listed = Object.entries(parameters).map(([key, value]) => `PARAMETER["${key}",${value}]`);
  const geographic = `GEOGCS["${datum}",DATUM["${datum}",SPHEROID[${ellipsoid}]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]`;
  return `PROJCS["${name}",${geographic},PROJECTION["${method}"],${listed.join()},${unit}]`;
}

const FOOT = 0.304800609601219;
const UNIT_FOOT = `UNIT["US survey foot",${FOOT}]`;

// Worked examples of IOGP Guidance Note 7-2 (Coordinate Conversions and Transformations including Formulas), which prints
// coordinates to 1 cm; its transverse Mercator carries fewer terms and is a few millimetres off its own formulas.
const GUIDANCE_NOTE_7_2 = [
  {
    title: 'transverse Mercator, British National Grid',
    definition: projected('grid', 'OSGB_1936', '"Airy 1830",6377563.396,299.32496', 'Transverse_Mercator', {
      latitude_of_origin: 49,
      central_meridian: -2,
      scale_factor: 0.9996012717,
      false_easting: 400_000,
      false_northing: -100_000,
    }),
    at: [radians(0, 30), radians(50, 30)],
    expected: [577_274.99, 69_740.5],
    unit: 1,
    tolerance: 0.01,
  },
  {
    title: 'Lambert conic conformal with two parallels, Texas South Central in US survey feet',
    definition: projected(
      'Texas',
      'North_American_Datum_1927',
      '"Clarke 1866",6378206.4,294.97870',
      'Lambert_Conformal_Conic_2SP',
      {
        standard_parallel_1: 28 + 23 / 60,
        standard_parallel_2: 30 + 17 / 60,
        latitude_of_origin: 27 + 50 / 60,
        central_meridian: -99,
        false_easting: 2_000_000,
        false_northing: 0,
      },
      UNIT_FOOT,
    ),
    at: [radians(-96), radians(28, 30)],
    expected: [2_963_503.91, 254_759.8],
    unit: FOOT,
    tolerance: 0.005,
  },
  {
    title: 'Lambert conic conformal with one parallel, Jamaica',
    definition: '+proj=lcc +lat_1=18 +lat_0=18 +lon_0=-77 +k_0=1 +x_0=250000 +y_0=150000 +ellps=clrk66',
    at: [radians(-76, 56, 37.26), radians(17, 55, 55.8)],
    expected: [255_966.58, 142_493.51],
    unit: 1,
    tolerance: 0.005,
  },
  {
    title: 'oblique stereographic, Amersfoort',
    definition: projected('RD', 'Amersfoort', '"Bessel 1841",6377397.155,299.15281', 'Oblique_Stereographic', {
      latitude_of_origin: 52 + 9 / 60 + 22.178 / 3600,
      central_meridian: 5 + 23 / 60 + 15.5 / 3600,
      scale_factor: 0.9999079,
      false_easting: 155_000,
      false_northing: 463_000,
    }),
    at: [radians(6), radians(53)],
    expected: [196_105.283, 557_057.739],
    unit: 1,
    tolerance: 0.001,
  },
  {
    title: 'Lambert azimuthal equal area, Europe, by its code',
    definition: 'EPSG:3035',
    at: [radians(5), radians(50)],
    expected: [3_962_799.45, 2_999_718.85],
    unit: 1,
    tolerance: 0.005,
  },
] as const;

describe('projections', () => {
  it.each(GUIDANCE_NOTE_7_2)('$title (Guidance Note 7-2)', ({ definition, at, expected, unit, tolerance }) => {
    const { fromGeographic, toGeographic } = system(definition);
    const [x, y] = fromGeographic(at[0], at[1])!;
    expect(Math.abs(x / unit - expected[0])).toBeLessThan(tolerance);
    expect(Math.abs(y / unit - expected[1])).toBeLessThan(tolerance);
    const [longitude, latitude] = toGeographic(x, y)!;
    // There and back within half a millimetre on the ground.
    expect(Math.abs(longitude - at[0]) * 6_378_000).toBeLessThan(0.0005);
    expect(Math.abs(latitude - at[1]) * 6_378_000).toBeLessThan(0.0005);
  });

  // Ordnance Survey, A Guide to Coordinate Systems in Great Britain, annexe C: to the millimetre.
  it('transverse Mercator to the millimetre, by the worked example of the British survey', () => {
    const grid =
      '+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000 +a=6377563.396 +b=6356256.910';
    const [x, y] = system(grid).fromGeographic(radians(1, 43, 4.5177), radians(52, 39, 27.2531))!;
    expect(Math.abs(x - 651_409.903)).toBeLessThan(0.001);
    expect(Math.abs(y - 313_177.27)).toBeLessThan(0.001);
  });

  it('a place on the meridian between two zones lies as far from both', () => {
    // 12 degrees east bounds zones 32 and 33: mirrored, 3 degrees from either central meridian, same northing.
    const [zone32, zone33] = [system('EPSG:25832'), system('EPSG:25833')];
    const [x, y] = zone32.fromGeographic(radians(12), radians(54))!;
    const [x33, y33] = planTransform(zone32, zone33)(x, y)!;
    expect(x33).toBeCloseTo(1_000_000 - x, 4);
    expect(y33).toBeCloseTo(y, 4);
  });

  it('WKT 1, WKT 2, PROJ string and code of the same system agree', () => {
    const wkt1 = projected('UTM 33', 'D_ETRS_1989', '"GRS 1980",6378137,298.257222101', 'Transverse_Mercator', {
      latitude_of_origin: 0,
      central_meridian: 15,
      scale_factor: 0.9996,
      false_easting: 500_000,
      false_northing: 0,
    });
    const angle = 'ANGLEUNIT["degree",0.0174532925199433]';
    const metre = 'LENGTHUNIT["metre",1]';
    const wkt2 = `PROJCRS["UTM 33",BASEGEOGCRS["ETRS89",ENSEMBLE["European Terrestrial Reference System 1989 ensemble",MEMBER["x"],ELLIPSOID["GRS 1980",6378137,298.257222101,${metre}],ENSEMBLEACCURACY[0.1]],PRIMEM["Greenwich",0,${angle}]],CONVERSION["UTM zone 33N",METHOD["Transverse Mercator",ID["EPSG",9807]],PARAMETER["Latitude of natural origin",0,${angle}],PARAMETER["Longitude of natural origin",15,${angle}],PARAMETER["Scale factor at natural origin",0.9996,SCALEUNIT["unity",1]],PARAMETER["False easting",500000,${metre}],PARAMETER["False northing",0,${metre}]],CS[Cartesian,2],AXIS["easting",east],AXIS["northing",north],${metre}]`;
    const code = system('EPSG:25833');
    const all = [wkt1, wkt2, '+proj=utm +zone=33 +ellps=GRS80 +units=m'].map(system);
    const expected = code.fromGeographic(radians(13), radians(54))!;
    for (const other of all) {
      expect(sameDatum(other, code)).toBe(true);
      const found = other.fromGeographic(radians(13), radians(54))!;
      expect(found[0]).toBeCloseTo(expected[0], 5);
      expect(found[1]).toBeCloseTo(expected[1], 5);
    }
    expect(all[0].datum).toBe('ETRS89');
    expect(all[1].datum).toBe('ETRS89');
  });

  it('datums are told apart by name, ellipsoids by size', () => {
    expect(sameDatum(system('EPSG:25832'), system('EPSG:32632'))).toBe(false);
    expect(sameDatum(system('EPSG:28355'), system('EPSG:7855'))).toBe(false);
    expect(sameDatum(system('EPSG:25832'), system('+proj=utm +zone=32 +ellps=bessel'))).toBe(false);
  });

  it('what cannot be computed says why', () => {
    expect(planeSystem('EPSG:2263')).toMatchObject({ problem: expect.stringContaining('built in') });
    expect(planeSystem('+proj=longlat +datum=WGS84')).toMatchObject({ problem: expect.stringContaining('longitude') });
    expect(planeSystem('LOCAL_CS["site",UNIT["metre",1]]')).toMatchObject({ problem: expect.stringContaining('site') });
    expect(planeSystem('PROJCS["broken')).toHaveProperty('problem');
    expect(planeSystem('+proj=nothing')).toHaveProperty('problem');
    expect(planeSystem('+proj=krovak +axis=swu')).toMatchObject({ problem: expect.stringContaining('axes') });
  });

  // Zones and their central meridians: EPSG dataset; zone z of UTM lies about 6 z - 183 degrees.
  it.each([
    [32601, -177],
    [32760, 177],
    [25832, 9],
    [26915, -93],
    [28355, 147],
    [7855, 147],
  ])('EPSG:%d lies about %d degrees', (code, meridian) => {
    const [x] = system(`EPSG:${code}`).fromGeographic(
      radians(meridian),
      code === 28355 || code === 7855 || code === 32760 ? -0.5 : 0.5,
    )!;
    expect(x).toBeCloseTo(500_000, 6);
  });

  it('codes outside the families are not guessed', () => {
    for (const code of [25827, 25839, 26924, 28347, 28359, 7845, 7860, 32600, 32661, 2263, 4326, 27700])
      expect(systemByCode(code)).toBeNull();
  });
});

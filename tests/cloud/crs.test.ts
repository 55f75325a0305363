import fc from 'fast-check';
import proj4 from 'proj4';
import { describe, expect, test } from 'vitest';
import { type Crs, crsOfWkt, heightUnit, horizontalWkt } from '../../src/cloud/crs.js';
import { unitOfSystem } from '../../src/cloud/epsg-units.js';
import { openCloud } from '../../src/cloud/open.js';
import { parseWkt } from '../../src/cloud/wkt.js';
import { buildLas, geoKeys, type RecordSpec, utf8 } from './las-builder.js';
import { MemorySource } from './memory-source.js';

// Systems and units: EPSG Geodetic Parameter Dataset. WKT 1: OGC 01-009; WKT 2: OGC 18-010r7; GeoTIFF keys: OGC 19-008.
// US survey foot: 1200/3937 m exactly (Mendenhall order; US Metric Law of 1866). International foot: 0.3048 m exactly.
const US_FOOT = 1200 / 3937;

const WKT1_UTM = `PROJCS["ETRS89 / UTM zone 32N",GEOGCS["ETRS89",DATUM["European_Terrestrial_Reference_System_1989",SPHEROID["GRS 1980",6378137,298.257222101,AUTHORITY["EPSG","7019"]],AUTHORITY["EPSG","6258"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AUTHORITY["EPSG","4258"]],PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],PARAMETER["central_meridian",9],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",500000],PARAMETER["false_northing",0],UNIT["metre",1,AUTHORITY["EPSG","9001"]],AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","25832"]]`;
const WKT1_NY = `PROJCS["NAD83 / New York Long Island (ftUS)",GEOGCS["NAD83",DATUM["North_American_Datum_1983",SPHEROID["GRS 1980",6378137,298.257222101]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433],AUTHORITY["EPSG","4269"]],PROJECTION["Lambert_Conformal_Conic_2SP"],PARAMETER["latitude_of_origin",40.1666666666667],PARAMETER["central_meridian",-74],PARAMETER["standard_parallel_1",41.0333333333333],PARAMETER["standard_parallel_2",40.6666666666667],PARAMETER["false_easting",984250],PARAMETER["false_northing",0],UNIT["US survey foot",0.304800609601219],AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","2263"]]`;
const WKT1_ARIZONA = WKT1_NY.replace('NAD83 / New York Long Island (ftUS)', 'NAD83 / Arizona Central (ft)')
  .replace('US survey foot",0.304800609601219', 'foot",0.3048')
  .replace('"2263"', '"2223"');
const WKT1_NAVD88_FT = `VERT_CS["NAVD88 height (ftUS)",VERT_DATUM["North American Vertical Datum 1988",2005,AUTHORITY["EPSG","5103"]],UNIT["US survey foot",0.304800609601219,AUTHORITY["EPSG","9003"]],AXIS["Gravity-related height",UP],AUTHORITY["EPSG","6360"]]`;
const WKT1_DHHN = `VERT_CS["DHHN2016 height",VERT_DATUM["Deutsches Haupthoehennetz 2016",2005,AUTHORITY["EPSG","1170"]],UNIT["metre",1,AUTHORITY["EPSG","9001"]],AXIS["Gravity-related height",UP],AUTHORITY["EPSG","7837"]]`;
const compound1 = (h: string, v: string, more = '') => `COMPD_CS["both",${h},${v}${more}]`;

const WKT2_GEOG = (name: string) =>
  `BASEGEOGCRS["${name}",DATUM["${name}",ELLIPSOID["GRS 1980",6378137,298.257222101,LENGTHUNIT["metre",1]]],PRIMEM["Greenwich",0,ANGLEUNIT["degree",0.0174532925199433]]]`;
const WKT2_UTM = `PROJCRS["ETRS89 / UTM zone 32N",${WKT2_GEOG('ETRS89')},CONVERSION["UTM zone 32N",METHOD["Transverse Mercator",ID["EPSG",9807]],PARAMETER["Latitude of natural origin",0,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8801]],PARAMETER["Longitude of natural origin",9,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8802]],PARAMETER["Scale factor at natural origin",0.9996,SCALEUNIT["unity",1],ID["EPSG",8805]],PARAMETER["False easting",500000,LENGTHUNIT["metre",1],ID["EPSG",8806]],PARAMETER["False northing",0,LENGTHUNIT["metre",1],ID["EPSG",8807]]],CS[Cartesian,2],AXIS["(E)",east,ORDER[1],LENGTHUNIT["metre",1]],AXIS["(N)",north,ORDER[2],LENGTHUNIT["metre",1]],ID["EPSG",25832]]`;
const WKT2_NY = `PROJCRS["NAD83 / New York Long Island (ftUS)",${WKT2_GEOG('NAD83')},CONVERSION["SPCS83 New York Long Island zone (US survey foot)",METHOD["Lambert Conic Conformal (2SP)",ID["EPSG",9802]],PARAMETER["Latitude of false origin",40.1666666666667,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8821]],PARAMETER["Longitude of false origin",-74,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8822]],PARAMETER["Latitude of 1st standard parallel",41.0333333333333,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8823]],PARAMETER["Latitude of 2nd standard parallel",40.6666666666667,ANGLEUNIT["degree",0.0174532925199433],ID["EPSG",8824]],PARAMETER["Easting at false origin",984250,LENGTHUNIT["US survey foot",0.304800609601219],ID["EPSG",8826]],PARAMETER["Northing at false origin",0,LENGTHUNIT["US survey foot",0.304800609601219],ID["EPSG",8827]]],CS[Cartesian,2],AXIS["easting (X)",east,ORDER[1],LENGTHUNIT["US survey foot",0.304800609601219]],AXIS["northing (Y)",north,ORDER[2],LENGTHUNIT["US survey foot",0.304800609601219]],ID["EPSG",2263]]`;
const WKT2_VERT = (name: string, unit: string, factor: number, code: number) =>
  `VERTCRS["${name}",VDATUM["${name} datum"],CS[vertical,1],AXIS["gravity-related height (H)",up,LENGTHUNIT["${unit}",${factor}]],ID["EPSG",${code}]]`;
const compound2 = (h: string, v: string) => `COMPOUNDCRS["both",${h},${v}]`;

const facts = (crs: Crs) => ({
  state: crs.state,
  h: crs.horizontal && [crs.horizontal.epsg, crs.horizontal.unit.metres, crs.horizontal.geographic],
  v: crs.vertical && [crs.vertical.epsg, crs.vertical.unit.metres],
  problems: crs.problems,
});

describe('WKT', () => {
  const cases: [string, string, unknown, unknown][] = [
    ['WKT 1 projected, metre', WKT1_UTM, [25832, 1, false], null],
    ['WKT 1 projected, US survey foot', WKT1_NY, [2263, US_FOOT, false], null],
    ['WKT 1 projected, international foot', WKT1_ARIZONA, [2223, 0.3048, false], null],
    ['WKT 1 compound, metres', compound1(WKT1_UTM, WKT1_DHHN), [25832, 1, false], [7837, 1]],
    ['WKT 1 compound, feet', compound1(WKT1_NY, WKT1_NAVD88_FT), [2263, US_FOOT, false], [6360, US_FOOT]],
    [
      'WKT 1 compound, metre and US survey foot',
      compound1(WKT1_UTM, WKT1_NAVD88_FT),
      [25832, 1, false],
      [6360, US_FOOT],
    ],
    ['WKT 2 projected, metre', WKT2_UTM, [25832, 1, false], null],
    ['WKT 2 projected, US survey foot', WKT2_NY, [2263, US_FOOT, false], null],
    [
      'WKT 2 compound',
      compound2(WKT2_UTM, WKT2_VERT('DHHN2016 height', 'metre', 1, 7837)),
      [25832, 1, false],
      [7837, 1],
    ],
    [
      'WKT 2 compound, feet',
      compound2(WKT2_NY, WKT2_VERT('NAVD88 height (ftUS)', 'US survey foot', 0.304800609601219, 6360)),
      [2263, US_FOOT, false],
      [6360, US_FOOT],
    ],
    [
      'WKT 2 compound, international feet high',
      compound2(WKT2_NY, WKT2_VERT('NAVD88 height (ft)', 'foot', 0.3048, 8228)),
      [2263, US_FOOT, false],
      [8228, 0.3048],
    ],
    [
      'WKT 2 bound',
      `BOUNDCRS[SOURCECRS[${WKT2_UTM}],TARGETCRS[${WKT2_UTM}],ABRIDGEDTRANSFORMATION["t",METHOD["m"]]]`,
      [25832, 1, false],
      null,
    ],
    [
      'round brackets, spaces and line ends',
      WKT1_UTM.replace(/\[/g, ' (\n').replace(/\]/g, '\t) '),
      [25832, 1, false],
      null,
    ],
    [
      'lower case keywords',
      WKT1_UTM.replace('PROJCS', 'projcs').replace('UNIT["metre"', 'unit["metre"'),
      [25832, 1, false],
      null,
    ],
  ];
  test.each(cases)('%s', (_, wkt, h, v) => {
    expect(facts(crsOfWkt(wkt))).toEqual({ state: 'known', h, v, problems: [] });
  });

  test('names', () => {
    const crs = crsOfWkt(compound1(WKT1_UTM, WKT1_DHHN, ',AUTHORITY["EPSG","9999"]'));
    expect([crs.horizontal?.name, crs.vertical?.name, crs.compoundEpsg]).toEqual([
      'ETRS89 / UTM zone 32N',
      'DHHN2016 height',
      9999,
    ]);
    expect(crs.wkt).toContain('COMPD_CS');
  });

  test('the US survey foot is exact however it is printed, and never the international one', () => {
    for (const factor of [
      '0.3048006096012192',
      '0.304800609601219',
      '0.3048006096',
      '0.30480061',
      '3.048006096012192E-1',
    ]) {
      const crs = crsOfWkt(WKT1_NY.replace('0.304800609601219', factor));
      expect(crs.horizontal?.unit.metres).toBe(US_FOOT);
      expect(crs.problems).toEqual([]);
    }
    // 1,000,000 ft differ by 0.61 m between the two feet.
    expect(1e6 * (US_FOOT - 0.3048)).toBeCloseTo(0.6096, 4);
  });

  test('heights without a unit are in the horizontal one', () => {
    const bare = 'VERT_CS["local height",VERT_DATUM["local",2005]]';
    expect(facts(crsOfWkt(compound1(WKT1_NY, bare))).v).toEqual([null, US_FOOT]);
    expect(facts(crsOfWkt(compound1(WKT1_UTM, bare))).v).toEqual([null, 1]);
    expect(heightUnit(crsOfWkt(WKT1_NY))?.metres).toBe(US_FOOT);
    expect(heightUnit(crsOfWkt(compound1(WKT1_UTM, WKT1_NAVD88_FT)))?.metres).toBe(US_FOOT);
  });

  test('geographic systems have no length', () => {
    const wkt =
      'GEOGCS["ETRS89",DATUM["ETRS89",SPHEROID["GRS 1980",6378137,298.257222101]],PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433],AUTHORITY["EPSG","4258"]]';
    const crs = crsOfWkt(wkt);
    expect(facts(crs).h).toEqual([4258, Number.NaN, true]);
    expect(heightUnit(crs)).toBeNull();
    expect(facts(crsOfWkt(compound1(wkt, WKT1_NAVD88_FT))).v).toEqual([6360, US_FOOT]);
    expect(facts(crsOfWkt(compound1(wkt, 'VERT_CS["h",VERT_DATUM["d",2005]]'))).v).toEqual([null, 1]);
  });

  test('local systems', () => {
    expect(
      facts(crsOfWkt('LOCAL_CS["site grid",LOCAL_DATUM["site",0],UNIT["metre",1],AXIS["E",EAST],AXIS["N",NORTH]]')).h,
    ).toEqual([null, 1, false]);
    expect(
      facts(
        crsOfWkt(
          'ENGCRS["site grid",EDATUM["site"],CS[Cartesian,2],AXIS["E",east],AXIS["N",north],LENGTHUNIT["US survey foot",0.304800609601219]]',
        ),
      ).h,
    ).toEqual([null, US_FOOT, false]);
  });

  const unreadable: [string, string, RegExp][] = [
    ['empty', '', /cannot be read/],
    ['cut off', WKT1_UTM.slice(0, 200), /cannot be read: it ends inside|cannot be read: a quote/],
    ['no WKT at all', 'EPSG:25832', /cannot be read/],
    [
      'geocentric',
      'GEOCCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],UNIT["metre",1]]',
      /geocentric/,
    ],
    ['a vertical system alone', WKT1_DHHN, /no horizontal system/],
    ['deep brackets', 'A['.repeat(5000), /nested too deep/],
  ];
  test.each(unreadable)('unreadable: %s', (_, wkt, text) => {
    const crs = crsOfWkt(wkt);
    expect(crs.state).toBe('unreadable');
    expect(crs.horizontal).toBeNull();
    expect(crs.problems.join()).toMatch(text);
  });

  const contradictions: [string, string, RegExp][] = [
    [
      'name and factor',
      WKT1_NY.replace('0.304800609601219', '0.3048'),
      /called "US survey foot" but its factor is 0.3048/,
    ],
    [
      'code and unit',
      WKT1_NY.replace('UNIT["US survey foot",0.304800609601219]', 'UNIT["metre",1]'),
      /EPSG:2263 is in US survey foot, but the record states metre/,
    ],
    [
      'no unit, no code',
      WKT1_UTM.replace(',UNIT["metre",1,AUTHORITY["EPSG","9001"]]', '').replace(',AUTHORITY["EPSG","25832"]', ''),
      /not stated; metre is assumed/,
    ],
    [
      'a factor of zero',
      WKT1_UTM.replace('UNIT["metre",1,', 'UNIT["rod",0,').replace('"9001"', '"0"'),
      /no usable factor/,
    ],
  ];
  test.each(contradictions)('contradiction: %s', (_, wkt, text) => {
    expect(crsOfWkt(wkt).problems.join()).toMatch(text);
  });

  test('any damage to a text gives a result, never an exception', () => {
    fc.assert(
      fc.property(fc.nat(WKT2_NY.length), fc.nat(40), fc.string(), (at, cut, insert) => {
        const crs = crsOfWkt(WKT2_NY.slice(0, at) + insert + WKT2_NY.slice(at + cut));
        expect(['known', 'unreadable']).toContain(crs.state);
      }),
      { seed: 9, numRuns: 500 },
    );
  });

  test('tree: keywords, doubled quotes, numbers, bare words', () => {
    expect(parseWkt(' Ab [ "say ""hi""", -1.5E+2 ,north, C[], d("x")] ')).toMatchObject({
      keyword: 'AB',
      values: ['say "hi"', -150, 'north'],
      children: [
        { keyword: 'C', values: [], children: [] },
        { keyword: 'D', values: ['x'] },
      ],
    });
    for (const bad of ['A[', 'A["x]', 'A[1,,', 'A]', 'A[1)', 'A[1]B', 'A[#]', 'A[-]'])
      expect(() => parseWkt(bad), bad).toThrow();
  });
});

describe('the horizontal part goes to proj4, a general projection library', () => {
  // Hand-written definitions of EPSG:25832 and EPSG:2263.
  const UTM = '+proj=utm +zone=32 +ellps=GRS80 +units=m +no_defs';
  const NY =
    '+proj=lcc +lat_0=40.1666666666667 +lon_0=-74 +lat_1=41.0333333333333 +lat_2=40.6666666666667 +x_0=300000 +y_0=0 +ellps=GRS80 +units=us-ft +no_defs';
  const cases: [string, string, string, [number, number]][] = [
    ['WKT 1', WKT1_UTM, UTM, [9.7, 53.5]],
    ['WKT 1 compound', compound1(WKT1_UTM, WKT1_DHHN), UTM, [9.7, 53.5]],
    ['WKT 2', WKT2_UTM, UTM, [9.7, 53.5]],
    ['WKT 2 compound', compound2(WKT2_UTM, WKT2_VERT('h', 'metre', 1, 7837)), UTM, [9.7, 53.5]],
    ['WKT 1, feet', compound1(WKT1_NY, WKT1_NAVD88_FT), NY, [-73.9, 40.7]],
    ['WKT 2, feet', compound2(WKT2_NY, WKT2_VERT('h', 'foot', 0.3048, 8228)), NY, [-73.9, 40.7]],
  ];
  test.each(cases)('%s', (_, wkt, definition, place) => {
    const node = horizontalWkt(crsOfWkt(wkt));
    const [x, y] = proj4(node!).forward(place);
    const [e, n] = proj4(definition).forward(place);
    expect(Math.abs(x - e)).toBeLessThan(0.001);
    expect(Math.abs(y - n)).toBeLessThan(0.001);
  });
});

const PROJECTION = 'LASF_Projection';
const wktRecord = (wkt: string, end = '\0'): RecordSpec => ({
  userId: PROJECTION,
  recordId: 2112,
  payload: utf8(wkt + end),
});
const keyRecord = (...keys: Parameters<typeof geoKeys>[0]): RecordSpec => ({
  userId: PROJECTION,
  recordId: 34735,
  payload: geoKeys(keys),
});

async function read(
  vlrs: RecordSpec[],
  options: { minor?: number; format?: number; encoding?: number; evlrs?: RecordSpec[] } = {},
) {
  const { minor = 2, format = 1, encoding, evlrs } = options;
  const recordLength = format === 6 ? 30 : 28;
  const cloud = await openCloud(
    new MemorySource(
      buildLas({ minor, format, encoding, recordLength, points: new Uint8Array(recordLength), vlrs, evlrs }),
    ),
  );
  return { crs: cloud.crs, rules: cloud.formatIssues.map((o) => o.rule) };
}

describe('GeoTIFF keys', () => {
  // 1024 model type (1 projected), 3072 projected system, 3076 linear unit, 4096 vertical system, 4099 vertical unit
  test('projected and vertical, metres', async () => {
    const { crs, rules } = await read([
      keyRecord([1024, 0, 1, 1], [3072, 0, 1, 25832], [3076, 0, 1, 9001], [4096, 0, 1, 7837], [4099, 0, 1, 9001]),
    ]);
    expect(facts(crs)).toEqual({ state: 'known', h: [25832, 1, false], v: [7837, 1], problems: [] });
    expect([crs.source, crs.wkt, horizontalWkt(crs), rules]).toEqual(['geotiff', null, null, []]);
  });

  test.each([
    [9001, 1],
    [9002, 0.3048],
    [9003, US_FOOT],
  ])('unit code %i is %d m', async (code, metres) => {
    const { crs } = await read([
      keyRecord([1024, 0, 1, 1], [3072, 0, 1, 32767], [3076, 0, 1, code], [4099, 0, 1, code]),
    ]);
    expect(facts(crs)).toEqual({ state: 'known', h: [null, metres, false], v: [null, metres], problems: [] });
  });

  test('unit by size, in the doubles record', async () => {
    const doubles = new Uint8Array(new Float64Array([0, 0.304800609601219]).buffer);
    const { crs } = await read([
      keyRecord([1024, 0, 1, 1], [3072, 0, 1, 32767], [3076, 0, 1, 32767], [3077, 34736, 1, 1]),
      { userId: PROJECTION, recordId: 34736, payload: doubles },
    ]);
    expect(facts(crs)).toEqual({ state: 'known', h: [null, US_FOOT, false], v: null, problems: [] });
  });

  test('names in the text record', async () => {
    const { crs } = await read([
      keyRecord(
        [1024, 0, 1, 1],
        [1026, 34737, 8, 0],
        [3072, 0, 1, 25832],
        [3073, 34737, 9, 8],
        [4096, 0, 1, 7837],
        [4097, 34737, 6, 17],
      ),
      { userId: PROJECTION, recordId: 34737, payload: utf8('whole! |UTM 32N |Höhe|\0') },
    ]);
    expect([crs.horizontal?.name, crs.vertical?.name]).toEqual(['UTM 32N', 'Höhe']);
  });

  test('no unit key: the unit of the EPSG code', async () => {
    const { crs } = await read([keyRecord([1024, 0, 1, 1], [3072, 0, 1, 2263], [4096, 0, 1, 6360])]);
    expect(facts(crs)).toEqual({ state: 'known', h: [2263, US_FOOT, false], v: [6360, US_FOOT], problems: [] });
  });

  test('a unit key that contradicts the code', async () => {
    const { crs } = await read([keyRecord([1024, 0, 1, 1], [3072, 0, 1, 2263], [3076, 0, 1, 9001])]);
    expect(crs.horizontal?.unit.metres).toBe(1);
    expect(crs.problems).toEqual(['EPSG:2263 is in US survey foot, but the record states metre']);
  });

  test('geographic', async () => {
    const { crs } = await read([keyRecord([1024, 0, 1, 2], [2048, 0, 1, 4258], [2054, 0, 1, 9102])]);
    expect(facts(crs).h).toEqual([4258, Number.NaN, true]);
  });

  test('broken directories are unreadable or partly read, never thrown', async () => {
    const short = await read([{ userId: PROJECTION, recordId: 34735, payload: new Uint8Array(6) }]);
    expect([short.crs.state, short.rules]).toEqual(['unreadable', ['geotiff-length']]);
    const empty = await read([keyRecord()]);
    expect([empty.crs.state, empty.crs.problems]).toEqual([
      'unreadable',
      ['the GeoTIFF keys name no horizontal system'],
    ]);
    const version = await read([
      { userId: PROJECTION, recordId: 34735, payload: geoKeys([[3072, 0, 1, 25832]], [2, 0]) },
    ]);
    expect([version.crs.horizontal?.epsg, version.rules]).toEqual([25832, ['geotiff-version']]);
    const cut = keyRecord([3072, 0, 1, 25832], [3076, 0, 1, 9001]);
    const few = await read([{ ...cut, payload: cut.payload.subarray(0, 17) }]);
    expect([few.crs.horizontal?.epsg, few.rules]).toEqual([25832, ['geotiff-count']]);
    const outside = await read([
      keyRecord([1026, 999, 1, 1], [3072, 0, 1, 25832], [3073, 34737, 4, 0], [3077, 34736, 1, 3]),
    ]);
    expect(outside.rules).toEqual(['geotiff-reference', 'geotiff-reference', 'geotiff-reference']);
    expect(outside.crs.horizontal?.name).toBe('EPSG:25832');
    const geocentric = await read([keyRecord([1024, 0, 1, 3])]);
    expect(geocentric.crs.problems.join()).toMatch(/geocentric/);
  });
});

describe('units of systems', () => {
  // EPSG dataset: code, kind, metres
  test.each([
    [25832, 'projected', 1],
    [32633, 'projected', 1],
    [3857, 'projected', 1],
    [2263, 'projected', US_FOOT],
    [6539, 'projected', US_FOOT],
    [26729, 'projected', US_FOOT],
    [2223, 'projected', 0.3048],
    [2992, 'projected', 0.3048],
    [2066, 'projected', null],
    [10481, 'projected', null],
    [5703, 'vertical', 1],
    [7837, 'vertical', 1],
    [6360, 'vertical', US_FOOT],
    [8228, 'vertical', 0.3048],
    [5754, 'vertical', null],
  ] as const)('EPSG:%i, %s: %d', (code, kind, metres) => {
    expect(unitOfSystem(code, kind)?.metres ?? null).toBe(metres);
  });
});

describe('which record counts', () => {
  const keys = keyRecord([1024, 0, 1, 1], [3072, 0, 1, 25832], [3076, 0, 1, 9001]);

  test('none: absent, which is not unreadable', async () => {
    const { crs, rules } = await read([]);
    expect(crs).toMatchObject({
      state: 'absent',
      horizontal: null,
      vertical: null,
      source: null,
      wkt: null,
      problems: [],
    });
    expect(rules).toEqual(['crs-missing']);
    expect(heightUnit(crs)).toBeNull();
  });

  test('WKT where the header says WKT, also behind the points', async () => {
    const wkt = compound1(WKT1_NY, WKT1_NAVD88_FT);
    for (const place of [{ vlrs: [wktRecord(wkt)] }, { vlrs: [], evlrs: [wktRecord(wkt)] }]) {
      const { crs, rules } = await read(place.vlrs, { minor: 4, format: 6, evlrs: place.evlrs });
      expect([facts(crs).h, facts(crs).v, crs.source, rules]).toEqual([
        [2263, US_FOOT, false],
        [6360, US_FOOT],
        'wkt',
        [],
      ]);
    }
  });

  test('both: the one the header points to, and the contradiction is told', async () => {
    const vlrs = [wktRecord(WKT1_NY), keys];
    const wanted = await read(vlrs, { minor: 4, format: 6 });
    expect([wanted.crs.source, wanted.crs.horizontal?.epsg]).toEqual(['wkt', 2263]);
    expect(wanted.rules).toEqual(['crs-records-both']);
    expect(wanted.crs.problems).toEqual([
      'the WKT record states the horizontal system EPSG:2263, the GeoTIFF record EPSG:25832',
      'the WKT record states horizontal coordinates in US survey foot, the GeoTIFF record in metre',
    ]);
    const other = await read(vlrs, { minor: 4, format: 1, encoding: 0 });
    expect([other.crs.source, other.crs.horizontal?.epsg]).toEqual(['geotiff', 25832]);
    const agree = await read([wktRecord(WKT1_UTM), keys], { minor: 4, format: 6 });
    expect(agree.crs.problems).toEqual([]);
  });

  test('only the record the header does not point to: used, and noted', async () => {
    const a = await read([keys], { minor: 4, format: 6 });
    expect([a.crs.horizontal?.epsg, a.rules]).toEqual([25832, ['crs-record-kind']]);
    const b = await read([wktRecord(WKT1_NY)], { minor: 4, format: 1, encoding: 0 });
    expect([b.crs.horizontal?.epsg, b.rules]).toEqual([2263, ['crs-record-kind']]);
  });

  test('the chosen record is unreadable and the other one is not', async () => {
    const { crs } = await read([wktRecord('PROJCS["cut'), keys], { minor: 4, format: 6 });
    expect([crs.source, crs.horizontal?.epsg]).toEqual(['geotiff', 25832]);
    const { crs: back } = await read([wktRecord(WKT1_NY), keyRecord()], { minor: 4, format: 1, encoding: 0 });
    expect([back.source, back.horizontal?.epsg]).toEqual(['wkt', 2263]);
  });

  test('two of a kind, no terminator, empty', async () => {
    expect((await read([keys, keys])).rules).toEqual(['crs-record-repeated']);
    expect((await read([wktRecord(WKT1_UTM, '')], { minor: 4, format: 6 })).rules).toEqual(['wkt-terminator']);
    const empty = await read([wktRecord('')], { minor: 4, format: 6 });
    expect([empty.crs.state, empty.rules]).toEqual(['unreadable', ['wkt-empty']]);
  });
});

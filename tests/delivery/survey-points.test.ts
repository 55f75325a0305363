import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { parseSurveyPoints, readSurveyPoints, type SurveyPoint } from '../../src/delivery/survey-points.js';
import { Fault } from '../../src/fault.js';

const parse = (text: string, options = {}) => parseSurveyPoints(text, 'p.csv', options);
const fault = (text: string, options = {}): string => {
  try {
    parse(text, options);
  } catch (error) {
    if (error instanceof Fault) return error.message;
    throw error;
  }
  return 'no fault';
};
const plain = (part: Partial<SurveyPoint>): SurveyPoint => ({
  id: '1',
  role: 'check',
  x: 0,
  y: 0,
  z: 0,
  surface: 'hard',
  cloudX: null,
  cloudY: null,
  cloudZ: null,
  sigmaH: null,
  sigmaV: null,
  target: null,
  targetSize: null,
  ...part,
});
const HEAD = 'id,easting,northing,height';

describe('CSV', () => {
  it.each([
    ['brackets', `${HEAD},note${'['.repeat(20_000)}${' '.repeat(20_000)}\nA,1,2,3,x`],
    ['brackets and blanks', `${HEAD},note${'[ '.repeat(20_000)}]\nA,1,2,3,x`],
    ['blank lines', `${'\n'.repeat(100_000)}${HEAD}\nA,1,2,3`],
    ['blanks behind a comment', `# crs: ${' '.repeat(100_000)}x\n${HEAD}\nA,1,2,3`],
  ])('%s without end take no time', (_, text) => {
    const start = performance.now();
    fault(text);
    // Some milliseconds; a pattern that goes back and forth takes minutes.
    expect(performance.now() - start).toBeLessThan(2000);
  });

  it('ends on Earth: the largest easting of any grid is 45 500 000 m, with a zone number in front', () => {
    expect(parse(`${HEAD}\nA,45500012.431,5800107.288,4.3`)[0].x).toBe(45500012.431);
    expect(fault(`${HEAD}\nA,1e308,5800107.288,4.3`)).toMatch(/line 2.*easting.*beyond any place on Earth.*1e\+308/);
    expect(fault(`${HEAD}\nA,500012.4,5800107.288,-2e8`)).toMatch(/height.*beyond any place on Earth/);
  });

  it('fills what is not said', () => {
    expect(parse(`${HEAD}\nP1,500012.431,5800107.288,4.317\n`)).toEqual([
      plain({ id: 'P1', x: 500012.431, y: 5800107.288, z: 4.317 }),
    ]);
  });

  it('has every column, with semicolons and decimal commas', () => {
    const text =
      'Punkt;Rechtswert;Hochwert;Höhe;Typ;type;surface;cloud_x;cloud_y;cloud_z;sigma_h;sigma_v\n' +
      'A;500012,431;5800107,288;4,317;;GCP;VVA;500012,44;5800107,28;4,32;0,008;0,005\n';
    expect(parse(text)).toEqual([
      plain({
        id: 'A',
        role: 'control',
        surface: 'vegetated',
        x: 500012.431,
        y: 5800107.288,
        z: 4.317,
        cloudX: 500012.44,
        cloudY: 5800107.28,
        cloudZ: 4.32,
        sigmaH: 0.008,
        sigmaV: 0.005,
        target: null,
        targetSize: null,
      }),
    ]);
  });

  it.each([
    'id,easting,northing,height',
    'Point,East,North,Elevation',
    'NAME,X,Y,Z',
    'pkt,e,n,h',
    'pt,Rechtswert,Hochwert,Hoehe',
    'Point ID,Easting (m),Northing [m],Ortho_Height (DVR90)',
    'point_no,x_m,y_m,ortho-height m',
    'id,E.,N.,Elev.',
  ])('understands the columns %s', (head) => {
    expect(parse(`${head}\n7,500001,5800002,3\n`)).toEqual([plain({ id: '7', x: 500001, y: 5800002, z: 3 })]);
  });

  it('takes columns in any order and passes over others', () => {
    expect(parse('date,h,n,e,id,lat,lon\n2026-01-02,3,5800002,500001,7,52.1,9.1\n')[0]).toEqual(
      plain({ id: '7', x: 500001, y: 5800002, z: 3 }),
    );
  });

  it('prefers id to point and name, and role to type', () => {
    const [point] = parse('name,id,type,role,e,n,h\nnail,7,nail,control,500001,5800002,3\n');
    expect([point.id, point.role]).toEqual(['7', 'control']);
  });

  it('passes over comments, blank lines, a first line with the delimiter and rows of empty cells', () => {
    const text = `\ufeffsep=;\n# made by hand\n\nid;e;n;h\nP#1;1000;2000;3\n\n# more\nP2;1001;2000;3\n;;;\n`;
    expect(parse(text).map((point) => point.id)).toEqual(['P#1', 'P2']);
  });

  it('keeps empty cells between tabs', () => {
    const [point] = parse('id\te\tn\th\trole\tsigma_h\tsigma_v\nP1\t 1000\t2000 \t3\t\t \t0.01\n');
    expect(point).toEqual(plain({ id: 'P1', x: 1000, y: 2000, z: 3, sigmaV: 0.01 }));
  });

  it('takes quoted cells, with the delimiter or a decimal comma inside', () => {
    expect(parse(`${HEAD}\n"P, ""1""","1000,5","2000,25","3"\n`)[0]).toEqual(
      plain({ id: 'P, "1"', x: 1000.5, y: 2000.25, z: 3 }),
    );
  });

  it.each([
    ['check', 'check'],
    ['Checkpoint', 'check'],
    ['check point', 'check'],
    ['VALIDATION', 'check'],
    ['cp', 'check'],
    ['', 'check'],
    ['control', 'control'],
    ['Control-Point', 'control'],
    ['gcp', 'control'],
  ])('the role "%s" is %s', (word, role) => {
    expect(parse(`${HEAD},role\n1,1000,2000,3,${word}\n`)[0].role).toBe(role);
  });

  it('keeps two points at the same place', () => {
    expect(parse(`${HEAD}\n1,1000,2000,3\n2,1000,2000,3\n`)).toHaveLength(2);
  });

  it('takes dashes and n/a as nothing where a cell may be empty', () => {
    expect(parse(`${HEAD},sigma_h,sigma_v\n1,1000,2000,3,-,n/a\n`)[0]).toEqual(plain({ x: 1000, y: 2000, z: 3 }));
  });

  it('comes back as written for any delimiter, decimal mark, line end and order of columns', () => {
    const metres = (max: number) => fc.integer({ min: -max * 1000, max: max * 1000 }).map((mm) => mm / 1000);
    const pointArbitrary = fc.record({
      x: metres(900_000),
      y: metres(9_000_000),
      z: metres(4000),
      role: fc.constantFrom('check' as const, 'control' as const),
      surface: fc.constantFrom('hard' as const, 'vegetated' as const),
      sigmaV: fc.option(fc.integer({ min: 0, max: 500 }).map((mm) => mm / 1000)),
    });
    const columns = ['id', 'easting', 'northing', 'height', 'role', 'surface', 'sigma_v'];
    fc.assert(
      fc.property(
        fc.array(pointArbitrary, { minLength: 1, maxLength: 6 }),
        fc.constantFrom(',', ';', '\t'),
        fc.constantFrom('.', ','),
        fc.shuffledSubarray(columns, { minLength: columns.length }),
        fc.boolean(),
        (list, delimiter, mark, order, bom) => {
          // An anchor far off, so that small random coordinates are never taken for degrees.
          const points = [{ ...list[0], x: 500_000.5, y: 5_800_000.25 }, ...list].map((p, i) =>
            plain({ ...p, id: `P ${i}` }),
          );
          const cell = (value: string | number | null) => {
            const text = typeof value === 'number' ? String(value).replace('.', mark) : (value ?? '');
            return text.includes(delimiter) ? `"${text}"` : text;
          };
          const lines = points.map((p) => {
            const values = [p.id, p.x, p.y, p.z, p.role, p.surface, p.sigmaV];
            return order.map((column) => cell(values[columns.indexOf(column)])).join(delimiter);
          });
          expect(parse(`${bom ? '\ufeff' : ''}${order.join(delimiter)}\n${lines.join('\n')}\n`)).toEqual(points);
        },
      ),
    );
  });
});

describe('units', () => {
  it('in the names of columns go before the unit of the file', () => {
    const text = 'id,easting (m),northing (m),height,sigma_h_mm,sigma_v [cm]\n1,1000,2000,10,8,1\n';
    const [point] = parse(text, { metresPerUnit: 0.3048 });
    expect(point).toEqual(plain({ x: 1000, y: 2000, z: 10 * 0.3048, sigmaH: 0.008, sigmaV: 0.01 }));
  });

  it('may differ for heights', () => {
    const [point] = parse(`${HEAD},sigma_h,sigma_v\n1,1000,2000,10,2,4\n`, {
      metresPerUnit: 1,
      metresPerUnitHeight: 0.5,
    });
    expect(point).toEqual(plain({ x: 1000, y: 2000, z: 5, sigmaH: 2, sigmaV: 2 }));
  });

  it('US survey foot is 1200/3937 m (NIST SP 811, appendix B)', () => {
    expect(parse('id,x_usft,y_usft,z (US ft)\n1,3937,7874,39.37\n')[0]).toMatchObject({ x: 1200, y: 2400 });
    expect(parse('id,x_usft,y_usft,z (US ft)\n1,3937,7874,39.37\n')[0].z).toBeCloseTo(12, 12);
  });

  it('feet of a kind that is not known are refused', () => {
    const text = 'id,x (ft),y (ft),z (ft)\n1,1000,2000,10\n';
    expect(fault(text)).toContain('column 2 "x (ft)" is in feet, but it is not known in which');
    expect(fault(text)).toContain('international feet (0.3048 m) or US survey feet (1200/3937 m)');
    expect(parse(text, { metresPerUnit: 0.3048 })[0].x).toBeCloseTo(304.8, 10);
  });
});

describe('what the surveyor is told', () => {
  it('a column that is missing', () => {
    expect(fault('id,easting,northing\n1,1000,2000\n')).toBe(
      'p.csv, line 1: no column holds the height (found id, easting, northing). Call it height, elevation, z, h or ' +
        'ortho_height; commas, semicolons or tabs stand between columns',
    );
    expect(fault('easting,northing,z\n1000,2000,3\n')).toContain('no column holds the name of the point');
    expect(fault('id easting northing height\n')).toContain('no column holds the name of the point (found id easting');
    expect(fault('# x\n\nid,northing,z\n')).toContain('p.csv, line 3: no column holds the easting');
  });

  it('two columns that mean the same', () => {
    expect(fault('id,e,n,height,ortho_height\n1,1000,2000,3,3\n')).toContain(
      'p.csv, line 1: "height" and "ortho_height" mean the same (found id, e, n, height, ortho_height). Keep one of them',
    );
  });

  it('a first line without names', () => {
    expect(fault('P1,1000.5,2000.5,3\n')).toBe(
      'p.csv, line 1: the first line must name the columns, but holds numbers. The first line names the columns, such as ' +
        'id,easting,northing,height',
    );
  });

  it('text where a number is due, with line and column', () => {
    expect(fault(`# c\n${HEAD}\n1,1000,2000,3\n\n2,1000,2000,abc\n`)).toBe(
      'p.csv, line 5, column 4 "height": a number is expected here (found "abc")',
    );
    expect(fault(`${HEAD}\n1,1000,2000,3 m\n`)).toContain(
      'line 2, column 4 "height": a number is expected here (found "3 m")',
    );
  });

  it('an empty cell, a point without a name', () => {
    expect(fault(`${HEAD}\n1,1000,,3\n`)).toBe(
      'p.csv, line 2, column 3 "northing": a number is expected here, the cell is empty',
    );
    expect(fault(`${HEAD}\n ,1000,2000,3\n`)).toBe('p.csv, line 2, column 1 "id": the point has no name');
  });

  it('decimal marks that are mixed, and thousands separators', () => {
    expect(fault('id;e;n;h\n1;1000,5;2000.5;3\n')).toBe(
      'p.csv, line 2, column 3 "n": the decimal mark is "." here and "," in earlier numbers of the file (found "2000.5")',
    );
    expect(fault('id;e;n;h\n1;1.000,5;2000,5;3\n')).toContain('column 2 "e": thousands separators are not allowed');
  });

  it('a decimal comma between commas', () => {
    expect(fault(`${HEAD}\n1,1000,5,2000,5,3,1\n`)).toBe(
      'p.csv, line 2: the line has too many columns (found 7, expected 4). With a decimal comma, put semicolons or tabs ' +
        'between the columns',
    );
  });

  it('a line that is too short', () => {
    expect(fault(`${HEAD}\n1,1000,2000\n`)).toContain(
      'p.csv, line 2: the line has too few columns (found 3, expected 4)',
    );
  });

  it('a quote that is not closed', () => {
    expect(fault(`${HEAD}\n1,1000,2000,3\n"2,1000,2000,3\n`)).toMatch(/^p\.csv, line \d: a double quote is not closed/);
  });

  it('two points of the same name', () => {
    expect(fault(`${HEAD}\n1,1000,2000,3\n2,1000,2000,3\n1,1001,2000,3\n`)).toBe(
      'p.csv, line 4: the point "1" stands in line 2 already. Every point needs a name of its own',
    );
  });

  it('no point, nothing at all', () => {
    expect(fault(`${HEAD}\n`)).toBe('p.csv: the file names columns but holds no point');
    expect(fault('')).toContain('p.csv: the file holds no line with data');
    expect(fault('# only this\n')).toContain('p.csv: the file holds no line with data');
  });

  it('a role or surface that is not known', () => {
    expect(fault(`${HEAD},type\n1,1000,2000,3,nail\n`)).toBe(
      'p.csv, line 2, column 5 "type": this word is not known here (found "nail", expected check or control). Rename the ' +
        'column if it means something else',
    );
    expect(fault(`${HEAD},surface\n1,1000,2000,3,lava\n`)).toContain('(found "lava", expected hard or vegetated)');
  });

  it('half a point of the cloud, a negative standard deviation', () => {
    expect(fault(`${HEAD},cloud_x\n1,1000,2000,3,1000\n`)).toBe(
      'p.csv, line 2: cloud_x and cloud_y must be given together',
    );
    expect(fault(`${HEAD},sigma_v\n1,1000,2000,3,-0.01\n`)).toContain(
      'column 5 "sigma_v": a standard deviation cannot be negative (found -0.01)',
    );
  });

  it('degrees, by name or by look', () => {
    expect(fault('id,lat,lon,height\n1,53.551086,9.993682,3\n')).toBe(
      'p.csv, line 1: the columns hold latitude and longitude (found id, lat, lon, height). Transform them to the projected ' +
        'coordinate system of the cloud first',
    );
    expect(fault('id,x (deg),y (deg),z\n1,9.993682,53.551086,3\n')).toContain(
      'the columns hold latitude and longitude',
    );
    expect(fault('id,x,y,z\n1,9.993682,53.551086,3\n2,9.9941,53.5522,3\n')).toContain(
      'p.csv, line 2: the coordinates look like latitude and longitude (found 9.993682, 53.551086). Transform them',
    );
  });

  it('coordinates of a small site that start at zero are no degrees', () => {
    expect(fault(`${HEAD}\n1,0.0004,0.0001,3\n2,40.1234,12.1234,3\n`)).toBe('no fault');
    expect(fault(`${HEAD}\n1,12.345,45.001,3\n`)).toBe('no fault');
    expect(fault(`id,x (m),y (m),z\n1,1.23456,1.23456,3\n`)).toBe('no fault');
  });
});

describe('GeoJSON', () => {
  const feature = (properties: object, coordinates: unknown = [500001, 5800002, 3], type = 'Point', rest = {}) => ({
    type: 'Feature',
    ...rest,
    properties,
    geometry: { type, coordinates },
  });
  const collection = (...features: unknown[]) => JSON.stringify({ type: 'FeatureCollection', features });

  it('has Point features with properties like the columns of a CSV', () => {
    const text = collection(
      feature({ id: 7, Role: 'control', sigma_v: '0,005', surface: null }),
      feature({ name: 'B', ortho_height: 4.5 }, [500001, 5800002]),
      feature({}, [500001, 5800002, 3], 'Point', { id: 'C' }),
    );
    expect(parse(text)).toEqual([
      plain({ id: '7', role: 'control', x: 500001, y: 5800002, z: 3, sigmaV: 0.005 }),
      plain({ id: 'B', x: 500001, y: 5800002, z: 4.5 }),
      plain({ id: 'C', x: 500001, y: 5800002, z: 3 }),
    ]);
  });

  it('takes the projected coordinates of the geometry, and the crs member of the 2008 edition', () => {
    const crs = { type: 'name', properties: { name: 'urn:ogc:def:crs:EPSG::25832' } };
    const text = JSON.stringify({
      type: 'FeatureCollection',
      crs,
      features: [feature({ id: 1, easting: 9, northing: 9 })],
    });
    expect(parse(text)[0].x).toBe(500001);
  });

  it.each([
    [
      'two heights',
      collection(feature({ id: 1, height: 43.2 })),
      'the height as third coordinate is 3, as property "height" it is 43.2',
    ],
    [
      'no height',
      collection(feature({ id: 1 }, [500001, 5800002])),
      'feature 1: the height is missing; give a property height',
    ],
    [
      'no name',
      collection(feature({ a: 1 })),
      'feature 1: the name of the point is missing; give a property id, point or name (found a)',
    ],
    [
      'a line',
      collection(feature({ id: 1 }, [[1, 2]], 'LineString')),
      'feature 1: a Point with numbers is expected (found LineString)',
    ],
    [
      'text as coordinate',
      collection(feature({ id: 1 }, ['1', 2, 3])),
      'feature 1: a Point with numbers is expected (found Point)',
    ],
    ['no geometry', collection({ type: 'Feature', properties: {}, geometry: null }), '(found no geometry)'],
    ['no feature', collection(3), 'feature 1: this is not a GeoJSON feature'],
    ['no point', collection(), 'holds no point'],
    ['other JSON', '{"a": 1}', 'this is not a GeoJSON FeatureCollection (found no "type")'],
    ['a list', '[]', 'this is not GeoJSON: an object with "type" is expected'],
    ['broken JSON', '{"type": "FeatureCollection",\n}', 'not valid JSON at line 2, column 1'],
    [
      'a text',
      collection(feature({ id: 1, sigma_h: 'good' })),
      'feature 1, property "sigma_h": a number is expected here (found "good")',
    ],
    [
      'the same name',
      collection(feature({ id: 1 }), feature({ id: '1' })),
      'feature 2: the point "1" stands in feature 1 already',
    ],
    [
      'degrees',
      collection(feature({ id: 1 }, [9.993682, 53.551086, 3])),
      'the coordinates look like latitude and longitude',
    ],
  ])('faults: %s', (_, text, message) => {
    expect(fault(text)).toContain(message);
  });

  it('refuses a file that says it holds degrees', () => {
    const crs = { type: 'name', properties: { name: 'urn:ogc:def:crs:OGC:1.3:CRS84' } };
    expect(fault(JSON.stringify({ type: 'FeatureCollection', crs, features: [] }))).toContain(
      'the file says that its coordinates are longitude and latitude (found urn:ogc:def:crs:OGC:1.3:CRS84)',
    );
  });
});

describe('files', () => {
  let folder: string;
  beforeAll(async () => {
    folder = await mkdtemp(join(tmpdir(), 'points-'));
  });
  afterAll(() => rm(folder, { recursive: true }));

  it.each([
    ['UTF-8', (text: string) => Buffer.from(text)],
    ['UTF-8 with byte order mark', (text: string) => Buffer.from(`\ufeff${text}`)],
    ['UTF-16', (text: string) => Buffer.from(`\ufeff${text}`, 'utf16le')],
    ['UTF-16, big end first', (text: string) => Buffer.from(`\ufeff${text}`, 'utf16le').swap16()],
    ['Windows-1252', (text: string) => Buffer.from(text, 'latin1')],
  ])('are read in %s, with the line ends of any system', async (_, encode) => {
    for (const end of ['\n', '\r\n', '\r']) {
      const path = join(folder, 'a.csv');
      await writeFile(path, encode(['id;e;n;Höhe', 'Brücke;1000;2000;3', ''].join(end)));
      expect(await readSurveyPoints(path)).toEqual([plain({ id: 'Brücke', x: 1000, y: 2000, z: 3 })]);
    }
  });

  it('that are missing or folders are faults', async () => {
    await expect(readSurveyPoints(join(folder, 'none.csv'))).rejects.toThrow(
      'none.csv: there is no such survey points file',
    );
    await expect(readSurveyPoints(folder)).rejects.toThrow('the survey points file cannot be read: it is a folder');
  });
});

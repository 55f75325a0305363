import { describe, expect, it } from 'vitest';
import type { DeliveredFile } from '../../src/delivery/delivery.js';
import { stationingOf } from '../../src/delivery/route.js';
import { stationAt, stationLabel } from '../../src/geometry/stationing.js';
import { parseRoute, type RouteOptions } from '../../src/route/read-route.js';
import { fileOf } from '../checks/judge.js';

const FILES: DeliveredFile[] = [
  fileOf('a.laz', 0, { header: { min: [560_900, 5_932_000, 0], max: [561_200, 5_932_300, 10] } as never }),
];

function read(text: string, more: Partial<RouteOptions> = {}) {
  return parseRoute(text, 'route', { metresPerUnit: 1, system: 'EPSG:25832', notation: null, files: FILES, ...more });
}

const geojson = (
  properties: object,
  coordinates: unknown = [
    [561_000, 5_932_000],
    [561_000, 5_932_300],
  ],
  more: object = {},
) =>
  JSON.stringify({
    type: 'FeatureCollection',
    ...more,
    features: [{ type: 'Feature', properties, geometry: { type: 'LineString', coordinates } }],
  });

describe('a route as GeoJSON', () => {
  it('has lines with name, direction, lanes, planned passes, start station and equations', () => {
    const equations = [{ back: '3+400', ahead: '3+450' }];
    const text = geojson({
      name: 'Quay road',
      direction: 'both',
      lanes: 4,
      plannedPasses: 2,
      startStation: '3+250',
      equations,
    });
    const { lines, notation } = read(text);
    expect(notation).toBe('3+250');
    expect(lines).toHaveLength(1);
    const [line] = lines;
    expect(line).toMatchObject({
      name: 'Quay road',
      direction: 'both',
      lanes: 4,
      plannedPasses: 2,
      startStation: 3250,
    });
    expect([...line.distance]).toEqual([0, 300]);
    expect(line.equations).toEqual([{ internal: 3400, back: 3400, ahead: 3450, increasing: true }]);
    expect(stationAt(line, 200)).toBe(3500);
  });

  it('may have decreasing stations', () => {
    const [line] = read(geojson({ startStation: 900, stations: 'decreasing' })).lines;
    expect(line.name).toBe('line 1');
    expect(stationAt(line, 300)).toBe(600);
  });

  it.each<[string, string, RegExp]>([
    ['empty text', '', /^route: the file is empty/],
    ['no feature', '{"type":"FeatureCollection","features":[]}', /the file holds no line of a route/],
    ['one vertex', geojson({}, [[561_000, 5_932_000]]), /feature 1: a line needs two different vertices \(found 1\)/],
    [
      'one vertex twice',
      geojson({}, [
        [561_000, 5_932_000],
        [561_000, 5_932_000],
      ]),
      /two different vertices/,
    ],
    ['a polygon', geojson({}).replace('LineString', 'Polygon'), /must be a LineString \(found Polygon\)/],
    [
      'another direction',
      geojson({ direction: 'north' }),
      /the direction must be along, against or both \(found north\)/,
    ],
    ['half a lane', geojson({ lanes: 1.5 }), /number of lanes must be a whole number/],
    [
      'a start station in words',
      geojson({ startStation: 'B' }),
      /the start station is not a station \(found "B", expected 3\+250\)/,
    ],
    [
      'an equation after the end',
      geojson({ equations: [{ back: 400, ahead: 0 }] }),
      /equation is beyond the end of the line/,
    ],
    [
      'an equation that contradicts itself',
      geojson({ equations: [{ internal: 100, back: 110, ahead: 0 }] }),
      /station back is not the one that is reached there \(found 110, expected 100\)/,
    ],
    [
      'another system',
      geojson({}, undefined, { crs: { type: 'name', properties: { name: 'EPSG:25833' } } }),
      /another coordinate system than the cloud \(found EPSG:25833, expected EPSG:25832\)/,
    ],
    [
      'degrees',
      geojson({}, [
        [9.98765, 53.54321],
        [9.98865, 53.54421],
      ]),
      /look like longitude and latitude/,
    ],
    [
      'far away',
      geojson({}, [
        [561_000, 5_950_000],
        [561_000, 5_950_300],
      ]),
      /about 17\.[0-9] km from the nearest cloud/,
    ],
    [
      'swapped axes',
      geojson({}, [
        [5_932_000, 561_000],
        [5_932_300, 561_000],
      ]),
      /Easting and northing look swapped/,
    ],
    [
      'feet',
      geojson({}, [
        [561_000 / 0.3048, 5_932_000 / 0.3048],
        [561_000 / 0.3048, 5_932_300 / 0.3048],
      ]),
      /look like feet/,
    ],
  ])('refuses %s', (_, text, message) => {
    expect(() => read(text)).toThrow(message);
  });

  it('a line far from the cloud is noted where another is near', () => {
    const near = JSON.parse(geojson({ name: 'A' }));
    near.features.push({
      type: 'Feature',
      properties: { name: 'B' },
      geometry: {
        type: 'LineString',
        coordinates: [
          [580_000, 5_932_000],
          [580_000, 5_932_300],
        ],
      },
    });
    expect(read(JSON.stringify(near)).notes).toEqual([
      expect.stringMatching(/^Line B of the route is about 18\.\d km/),
    ]);
    near.features[1].properties.name = 'A';
    expect(() => read(JSON.stringify(near))).toThrow(/two lines of the route have the same name \(found A\)/);
  });
});

describe('a route as a table of stations', () => {
  it('takes the distance along the curve from the stations, and an equation from a place with two stations', () => {
    const text = [
      '# crs: EPSG:25832',
      'line;station;easting;northing;lanes',
      'Ring;3+250,0;561000,0;5932000,0;4',
      'Ring;3+300,4;561000,0;5932050,0;4',
      'Ring;3+350,4;561000,0;5932100,0;4',
      'Ring;3+500,0;561000,0;5932100,0;4',
      'Ring;3+550,0;561000,0;5932150,0;4',
    ].join('\n');
    const [line] = read(text).lines;
    expect(line).toMatchObject({ name: 'Ring', startStation: 3250, lanes: 4 });
    expect([...line.distance].map((d) => Math.round(d * 1e6) / 1e6)).toEqual([0, 50.4, 100.4, 150.4]);
    expect(stationAt(line, 120.4)).toBeCloseTo(3520, 6);
  });

  it('stations may decrease', () => {
    const [line] = read('station,easting,northing\n500,561000,5932000\n400,561000,5932100\n').lines;
    expect(stationAt(line, 30)).toBe(470);
  });

  it.each<[string, string, RegExp]>([
    ['no station', 'line,easting,northing\nA,561000,5932000', /no column holds the station/],
    [
      'a station that does not fit',
      'station,easting,northing\n0,561000,5932000\n200,561000,5932100',
      /line 3: the station does not fit the distance from the vertex before \(found 200\.000 by stations, 100\.000 by coordinates\)/,
    ],
    ['one vertex', 'station,easting,northing\n0,561000,5932000', /two different vertices/],
    ['no number', 'station,easting,northing\n0,east,5932000', /line 2: a number is expected here \(found east\)/],
    ['only a head', 'station,easting,northing', /the file holds no line of a route/],
  ])('refuses %s', (_, text, message) => {
    expect(() => read(text)).toThrow(message);
  });
});

// LandXML 1.2: points are north first, then east (schema documentation, Start); staInternal is staStart plus the distance.
const point = (name: string, [x, y]: readonly [number, number]) => `<${name}>${y} ${x}</${name}>`;
const landxml = (
  geometry: string,
  more = '',
  units = '<Metric linearUnit="meter"/>',
  start = 100,
  length = 200,
) => `<?xml version="1.0"?>
<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2" version="1.2">
<Units>${units}</Units><CoordinateSystem epsgCode="25832"/>
<Alignments><Alignment name="Axis 1" length="${length}" staStart="${start}"><CoordGeom>${geometry}</CoordGeom>${more}</Alignment></Alignments></LandXML>`;
const LINE = `<Line>${point('Start', [561_000, 5_932_000])}${point('End', [561_000, 5_932_200])}</Line>`;

describe('a route as LandXML', () => {
  it('reads a line, north before east, and a station equation', () => {
    const { lines } = read(landxml(LINE, '<StaEquation staInternal="200" staAhead="300" staBack="200"/>'));
    expect([...lines[0].x]).toEqual([561_000, 561_000]);
    expect([...lines[0].y]).toEqual([5_932_000, 5_932_200]);
    // The published values of this equation.
    expect([0, 50, 100, 150, 200].map((d) => stationAt(lines[0], d))).toEqual([100, 150, 300, 350, 400]);
    expect(stationLabel(stationingOf(lines[0]), 150, { notation: '3+250', metresPerUnit: 1 }, 0)).toBe('0+350');
  });

  it('reads an arc to the left and to the right, by its own length', () => {
    const centre: [number, number] = [561_100, 5_932_000];
    const arc = (rot: string, end: [number, number]) =>
      `<Curve rot="${rot}" radius="100">${point('Start', [561_000, 5_932_000])}${point('Center', centre)}${point('End', end)}</Curve>`;
    const quarter = (Math.PI / 2) * 100;
    const [right] = read(landxml(arc('cw', [561_100, 5_932_100]))).lines;
    expect(right.distance.at(-1)).toBeCloseTo(quarter, 9);
    const [left] = read(landxml(arc('ccw', [561_100, 5_931_900]))).lines;
    expect(left.distance.at(-1)).toBeCloseTo(quarter, 9);
    for (const line of [right, left])
      line.x.forEach((x, i) => {
        expect(Math.hypot(x - centre[0], line.y[i] - centre[1])).toBeCloseTo(100, 7);
      });
  });

  it('reads a clothoid between a line and an arc without a corner', () => {
    // Clothoid of A² = 100 · 200 = 20000 from a northward line to the right. Ordinates at its end by the series of Fresnel integrals
    // (Abramowitz and Stegun 1964, 7.3.11 and 7.3.13), three terms: along L(1 - t²/10 + t⁴/216), across L(t/3 - t³/42 + t⁵/1320), t = L / 2R.
    const [l, r] = [100, 200];
    const t = l / (2 * r);
    const along = l * (1 - t ** 2 / 10 + t ** 4 / 216 - t ** 6 / 9360);
    const across = l * (t / 3 - t ** 3 / 42 + t ** 5 / 1320 - t ** 7 / 75600);
    const [sx, sy] = [561_000, 5_932_100];
    const end: [number, number] = [sx + across, sy + along];
    const spiral = `<Spiral length="100" radiusStart="INF" radiusEnd="200" rot="cw" spiType="clothoid">${point('Start', [sx, sy])}${point('PI', [sx, sy + along - across / Math.tan(t)])}${point('End', end)}</Spiral>`;
    const line = `<Line>${point('Start', [sx, sy - 100])}${point('End', [sx, sy])}</Line>`;
    const [read1] = read(landxml(line + spiral)).lines;
    expect(read1.distance.at(-1)).toBeCloseTo(200, 9);
    const k = read1.x.length - 2;
    const heading = Math.atan2(read1.x[k + 1] - read1.x[k], read1.y[k + 1] - read1.y[k]);
    expect(heading).toBeCloseTo(t, 2);
    const wrong = spiral.replace('length="100"', 'length="90"');
    expect(() => read(landxml(line + wrong))).toThrow(/the Spiral does not reach its End/);
  });

  it('converts feet, of which there are two', () => {
    const feet = (metres: number) => (metres * 3937) / 1200;
    const text = landxml(
      `<Line>${point('Start', [feet(561_000), feet(5_932_000)])}${point('End', [feet(561_000), feet(5_932_100)])}</Line>`,
      '',
      '<Imperial linearUnit="USSurveyFoot"/>',
      4157.95,
      feet(100),
    );
    const { lines, notation, metresPerUnit } = read(text, { notation: '41+57.95' });
    expect(lines[0].y[1]).toBeCloseTo(5_932_100, 6);
    expect(metresPerUnit).toBeCloseTo(1200 / 3937, 12);
    expect(stationLabel(stationingOf(lines[0]), 0, { notation, metresPerUnit }, 2)).toBe('41+57.95');
  });

  it.each<[string, string, RegExp]>([
    [
      'another version',
      landxml(LINE).replace('version="1.2"', 'version="2.0"'),
      /only version 1\.2 of LandXML is read \(found 2\.0\)/,
    ],
    ['another XML', '<gpx/>', /this is not LandXML \(found element gpx\)/],
    ['no alignment', landxml(LINE).replaceAll('Alignment', 'Surface'), /holds no alignment/],
    [
      'another spiral',
      landxml(LINE.replaceAll('Line>', 'Spiral>').replace('<Spiral>', '<Spiral spiType="bloss" length="5" rot="cw">')),
      /only spirals of type clothoid are read \(found bloss\)/,
    ],
    [
      'a gap',
      landxml(LINE + LINE),
      /the element does not begin where the one before it ends \(found 200\.000 m apart\)/,
    ],
    [
      'another unit',
      landxml(LINE, '', '<Metric linearUnit="furlong"/>'),
      /linear unit of the file is not one of LandXML 1\.2/,
    ],
    [
      'points by reference',
      landxml(LINE.replace(/<Start>.*<\/Start>/, '<Start pntRef="1"/>')),
      /points by reference \(pntRef\) are not read/,
    ],
    [
      'a wrong station back',
      landxml(LINE, '<StaEquation staInternal="200" staAhead="300" staBack="250"/>'),
      /station back is not the one/,
    ],
    ['a broken file', landxml(LINE).replace('</CoordGeom>', ''), /not well-formed XML/],
    [
      'a tiny radius',
      landxml(
        `<Curve rot="cw">${point('Start', [561_000, 5_932_000])}${point('Center', [561_000.01, 5_932_000])}${point('End', [561_000.02, 5_932_000])}</Curve>`,
      ),
      /the radius is below 1 m/,
    ],
  ])('refuses %s', (_, text, message) => {
    expect(() => read(text)).toThrow(message);
  });
});

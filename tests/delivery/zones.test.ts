import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { parseZones, readZones } from '../../src/delivery/zones.js';
import { Fault } from '../../src/fault.js';

const square = (x = 0, y = 0, side = 10) => [
  [x, y],
  [x + side, y],
  [x + side, y + side],
  [x, y + side],
  [x, y],
];
const flat = (ring: number[][]) => Float64Array.from(ring.flat());
const feature = (properties: object | null, coordinates: unknown, type = 'Polygon', rest = {}) => ({
  type: 'Feature',
  ...rest,
  properties,
  geometry: { type, coordinates },
});
const collection = (...features: unknown[]) => JSON.stringify({ type: 'FeatureCollection', features });
const fault = (text: string): string => {
  try {
    parseZones(text, 'z.geojson');
  } catch (error) {
    if (error instanceof Fault) return error.message;
    throw error;
  }
  return 'no fault';
};

describe('zones', () => {
  it('of another projection are refused: they would lie somewhere else', () => {
    const text = (name: string) =>
      JSON.stringify({
        type: 'FeatureCollection',
        crs: { type: 'name', properties: { name } },
        features: [feature({ name: 'quay' }, [square()])],
      });
    const read = (name: string, system: string | null) => parseZones(text(name), 'z.geojson', { system });
    expect(() => read('urn:ogc:def:crs:EPSG::25833', 'EPSG:25832')).toThrow(
      /z\.geojson.*another coordinate system.*EPSG:25833.*EPSG:25832.*Transform/,
    );
    for (const [name, system] of [
      ['urn:ogc:def:crs:EPSG::25832', 'EPSG:25832'],
      ['EPSG:25832+5799', 'EPSG:25832'],
      ['EPSG:25833', null],
      ['local grid', 'EPSG:25832'],
    ] as const)
      expect(read(name, system), name).toHaveLength(1);
  });

  it('end on Earth: the largest easting of any grid is 45 500 000 m, with a zone number in front', () => {
    expect(fault(collection(feature({ name: 'far' }, [square(45_500_000)])))).toBe('no fault');
    expect(fault(collection(feature({ name: 'far' }, [square(1e9)])))).toMatch(
      /\(far\): .*beyond any place on Earth.*1000000000/,
    );
    expect(fault(collection(feature({ name: 'far' }, [square(0, 1e307, 1e308)])))).toMatch(/beyond any place on Earth/);
  });

  it('are polygons with holes, and multipolygons', () => {
    const text = collection(
      feature({ name: 'road' }, [square(), square(2, 2, 3)]),
      feature({ name: 'quay' }, [[square(20)], [square(40), square(41, 1, 2)]], 'MultiPolygon'),
    );
    expect(parseZones(text, 'z')).toEqual([
      { name: 'road', polygons: [{ outer: flat(square()), holes: [flat(square(2, 2, 3))] }] },
      {
        name: 'quay',
        polygons: [
          { outer: flat(square(20)), holes: [] },
          { outer: flat(square(40)), holes: [flat(square(41, 1, 2))] },
        ],
      },
    ]);
  });

  it.each([
    [{ name: 'a', zone: 'b', id: 'c' }, {}, 'a'],
    [{ Zone: ' b ' }, {}, 'b'],
    [{ ID: 7 }, {}, '7'],
    [{ name: '', id: 0 }, {}, '0'],
    [null, { id: 'd' }, 'd'],
  ])('are named by %j %j: %s', (properties, rest, name) => {
    expect(parseZones(JSON.stringify(feature(properties, [square()], 'Polygon', rest)), 'z')[0].name).toBe(name);
  });

  it('of the same name are one', () => {
    const [zone, ...others] = parseZones(
      collection(feature({ name: 'a' }, [square()]), feature({ name: 'a' }, [square(20)])),
      'z',
    );
    expect(zone.polygons).toHaveLength(2);
    expect(others).toEqual([]);
  });

  it('come back as written, closed or not, with heights or not, in any unit', () => {
    const ring = fc.array(fc.tuple(fc.integer({ min: 4e5, max: 6e5 }), fc.integer({ min: 5e6, max: 6e6 })), {
      minLength: 1,
      maxLength: 8,
    });
    fc.assert(
      fc.property(ring, fc.boolean(), fc.boolean(), fc.constantFrom(1, 0.3048), (extra, closed, heights, metres) => {
        const open = [[300_000, 5_000_000], [700_000, 5_000_000], [700_000.5, 4_900_000], ...extra];
        const whole = [...open, open[0]];
        // A ring without area is refused by right; the last corner drawn may be the first one again.
        fc.pre(
          !(open.at(-1)?.join() === open[0].join()) &&
            fault(collection(feature({ name: 'a' }, [whole]))) === 'no fault',
        );
        const given = (closed ? whole : open).map((position) => (heights ? [...position, 4] : position));
        const [zone] = parseZones(collection(feature({ name: 'a' }, [given])), 'z', { metresPerUnit: metres });
        expect(zone.polygons[0].outer).toEqual(flat(whole).map((value) => value * metres));
      }),
    );
  });

  it('may carry the crs member of the 2008 edition', () => {
    const crs = { type: 'name', properties: { name: 'urn:ogc:def:crs:EPSG::25832' } };
    const text = JSON.stringify({
      type: 'FeatureCollection',
      crs,
      features: [feature({ name: 'a' }, [square(5e5, 58e5)])],
    });
    expect(parseZones(text, 'z')).toHaveLength(1);
  });

  it.each([
    [
      'no name',
      collection(feature({ width: 3 }, [square()])),
      'feature 1: the zone has no name (found properties width). Give it a property "name"',
    ],
    [
      'a line',
      collection(feature({ name: 'a' }, square(), 'LineString')),
      'feature 1 (a): a zone must be a Polygon or MultiPolygon (found LineString). Close lines',
    ],
    ['no geometry', collection({ type: 'Feature', properties: { name: 'a' }, geometry: null }), '(found no geometry)'],
    ['nothing', collection(), 'z.geojson: the file holds no zone. Give at least one Polygon feature'],
    [
      'an empty polygon',
      collection(feature({ name: 'a' }, [[]], 'MultiPolygon')),
      'feature 1 (a): the polygon has no ring',
    ],
    [
      'two corners',
      collection(
        feature({ name: 'a' }, [
          [
            [0, 0],
            [9, 9],
            [0, 0],
          ],
        ]),
      ),
      'a ring needs at least three corners (found 3 positions)',
    ],
    [
      'no area',
      collection(
        feature({ name: 'a' }, [
          [
            [0, 0],
            [9, 9],
            [5, 5],
          ],
        ]),
      ),
      'the ring encloses no area',
    ],
    [
      'a bad corner',
      collection(
        feature({ name: 'a' }, [
          square(),
          [
            [1, 1],
            [2, null],
            [3, 3],
          ],
        ]),
      ),
      'feature 1 (a), hole 1: position 2 is not a pair of numbers (found [2,null])',
    ],
    [
      'a bad part',
      collection(feature({ name: 'a' }, [[square()], [5]], 'MultiPolygon')),
      'polygon 2: a ring must be a list of positions',
    ],
    [
      'degrees',
      collection(
        feature({ name: 'a' }, [
          [
            [9.99368, 53.5511],
            [9.9941, 53.5511],
            [9.9941, 53.5522],
          ],
        ]),
      ),
      'the coordinates look like longitude and latitude (found 9.99368, 53.5511). Transform them',
    ],
    ['other JSON', '{"type": "Topology"}', 'this is not a GeoJSON FeatureCollection (found type "Topology")'],
    ['broken JSON', '{\n "type": "FeatureCollection"', 'not valid JSON at line 2, column 29'],
  ])('faults: %s', (_, text, message) => {
    expect(fault(text)).toContain(message);
  });

  it('that say they are in degrees are refused', () => {
    const crs = { type: 'name', properties: { name: 'EPSG:4326' } };
    expect(fault(JSON.stringify({ type: 'FeatureCollection', crs, features: [] }))).toContain('longitude and latitude');
  });

  it('are read from a file, which may be missing', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'zones-'));
    const path = join(folder, 'z.geojson');
    await writeFile(path, `\ufeff${collection(feature({ name: 'Böschung' }, [square()]))}`);
    expect((await readZones(path))[0].name).toBe('Böschung');
    await expect(readZones(join(folder, 'none.geojson'))).rejects.toThrow('there is no such zones file');
    await rm(folder, { recursive: true });
  });
});

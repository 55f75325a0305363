import { describe, expect, it } from 'vitest';
import { parseTileIndex, tileKey } from '../../src/delivery/tile-index.js';
import { Fault } from '../../src/fault.js';

const square = (x: number, y: number) => [
  [x, y],
  [x + 100, y],
  [x + 100, y + 100],
  [x, y + 100],
  [x, y],
];
const tile = (properties: object, x: number, y: number) => ({
  type: 'Feature',
  properties,
  geometry: { type: 'Polygon', coordinates: [square(x, y)] },
});
const collection = (...features: object[]) => JSON.stringify({ type: 'FeatureCollection', features });
const fault = (text: string) => {
  try {
    parseTileIndex(text, 'index.geojson');
  } catch (error) {
    if (error instanceof Fault) return error.message;
    throw error;
  }
  return 'no fault';
};

describe('a tile index', () => {
  it('names tiles by one of several properties, in metres', () => {
    const text = collection(
      tile({ tile: 'a_1' }, 0, 0),
      tile({ Name: 'b_2', id: 7 }, 100, 0),
      tile({ FILE: 'c/d.laz' }, 0, 100),
    );
    const tiles = parseTileIndex(text, 'index.geojson', { metresPerUnit: 0.3048 });
    expect(tiles.map((t) => t.name)).toEqual(['a_1', 'b_2', 'c/d.laz']);
    expect([...tiles[1].polygons[0].outer.subarray(0, 4)]).toEqual([30.48, 0, 60.96, 0]);
  });

  it('brings files and tiles together by their names without folder, ending and capitals', () => {
    const names = ['quay/A_1.las', 'A_1.LAZ', 'a_1.copc.laz', 'C:\\tiles\\a_1.laz', 'a_1'];
    expect([...new Set(names.map(tileKey))]).toEqual(['a_1']);
    // A dot is part of the name, and an o with two dots is one in either form of Unicode.
    expect(tileKey('a.1.las')).toBe('a.1');
    expect(tileKey('o\u0308st.las')).toBe(tileKey('\u00f6st.laz'));
  });

  it.each([
    ['no tile', collection(), /the file holds no tile.*property "tile"/],
    [
      'no name',
      collection(tile({ colour: 1 }, 0, 0)),
      /feature 1: the tile has no name \(found properties colour\).*"tile"/,
    ],
    [
      'a name twice',
      collection(tile({ tile: 'a' }, 0, 0), tile({ tile: 'x/A.laz' }, 100, 0)),
      /feature 2: the tile x\/A.laz is listed twice \(found a\)/,
    ],
    [
      'a point',
      collection({ type: 'Feature', properties: { tile: 'a' }, geometry: { type: 'Point', coordinates: [1, 2] } }),
      /a tile must be a Polygon/,
    ],
    ['no JSON', '{', /index.geojson/],
  ])('%s is told', (_, text, words) => expect(fault(text)).toMatch(words));
});

import type { VlrContent } from '../../src/simulate/writer/las-header.js';
import { DVR90, geotiffKeys, UTM32, wktText } from '../../src/simulate/writer/reference-systems.js';
import type { Break } from './breaks.js';
import { oneOf, whole } from './edit.js';

const PROJECTION = 'LASF_Projection';
const latin = (text: string) => Uint8Array.from(text, (c) => c.charCodeAt(0) & 255);
const wkt = (text: string): VlrContent => ({ userId: PROJECTION, recordId: 2112, data: latin(text) });
const SOUND = wktText(UTM32, DVR90);

/** WKT 2 of the same system, shortened to what a reader needs (ISO 19162). */
const WKT2 =
  'PROJCRS["ETRS89 / UTM zone 32N",BASEGEOGCRS["ETRS89",DATUM["European Terrestrial Reference System 1989",ELLIPSOID["GRS 1980",6378137,298.257222101]]],CONVERSION["UTM zone 32N",METHOD["Transverse Mercator"]],CS[Cartesian,2],AXIS["easting",east],AXIS["northing",north],LENGTHUNIT["metre",1],ID["EPSG",25832]]';

/** A directory of GeoTIFF keys: four leading words, then four words a key. */
function directory(keys: number[][], head: number[] = [1, 1, 0, keys.length]): VlrContent {
  const words = Uint16Array.from([...head, ...keys.flat()]);
  return { userId: PROJECTION, recordId: 34735, data: new Uint8Array(words.buffer) };
}

const KEYS = geotiffKeys(UTM32, DVR90).keys.filter(([, place]) => place === 0);

/** Files that break one rule about the records of the coordinate system. */
export const crsBreaks: Break[] = [
  ['LAS-CRS-01', 'no coordinate system', (s) => s.las14({ crs: null })],
  ['LAS-CRS-02', 'two WKT records', (s) => s.las14({ vlrs: [wkt(`${SOUND}\0`)] })],
  ['LAS-CRS-03', 'WKT and GeoTIFF keys', (s) => s.las14({ vlrs: [directory(KEYS)] })],
  [
    'LAS-CRS-04',
    'GeoTIFF keys for format 6',
    (s) => s.las14({ crs: { as: 'geotiff', horizontal: UTM32, vertical: DVR90 } }),
  ],
  [
    'LAS-CRS-05',
    'WKT for older readers',
    (s) =>
      s.las14old({
        crs: { as: 'wkt', horizontal: UTM32, vertical: DVR90 },
        headerOverrides: { legacyCount: s.points.count, legacyByReturn: byReturn(s.las14old()) },
      }),
  ],
  ['LAS-CRS-06', 'WKT without an end', (s) => s.las14({ crs: null, vlrs: [wkt(SOUND)] })],
  ['LAS-CRS-07', 'an empty WKT record', (s, r) => s.las14({ crs: null, vlrs: [wkt(`${' '.repeat(r.below(9))}\0`)] })],
  [
    'LAS-CRS-08',
    'WKT in another encoding',
    (s, r) => {
      const letter = String.fromCharCode(whole(r, 0xc0, 0xff));
      return s.las14({ crs: null, vlrs: [wkt(`${SOUND.replace('zone', `z${letter}ne`)}\0`)] });
    },
  ],
  [
    'LAS-CRS-09',
    'WKT cut short',
    (s, r) => s.las14({ crs: null, vlrs: [wkt(`${SOUND.slice(0, SOUND.length - whole(r, 1, 300))}\0`)] }),
  ],
  [
    'LAS-CRS-10',
    'a decimal comma',
    (s) => s.las14({ crs: null, vlrs: [wkt(`${SOUND.replace('0.0174532925199433', '0,0174532925199433')}\0`)] }),
  ],
  ['LAS-CRS-11', 'WKT 2 in LAS 1.4', (s) => s.las14({ crs: null, vlrs: [wkt(`${WKT2}\0`)] })],
  [
    'LAS-CRS-12',
    'another dialect',
    (s) => s.las14({ crs: null, vlrs: [wkt(`${SOUND.replace('DATUM["European', 'DATUM["D_European')}\0`)] }),
  ],
  [
    'LAS-CRS-13',
    'a directory without its leading words',
    (s, r) =>
      s.las12({
        crs: null,
        vlrs: [{ userId: PROJECTION, recordId: 34735, data: new Uint8Array(whole(r, 0, 7)) }],
      }),
  ],
  [
    'LAS-CRS-14',
    'a directory of another version',
    (s, r) => s.las12({ crs: null, vlrs: [directory(KEYS, [oneOf(r, [0, 2, 7]), 1, 0, KEYS.length])] }),
  ],
  [
    'LAS-CRS-15',
    'fewer keys than announced',
    (s, r) => s.las12({ crs: null, vlrs: [directory(KEYS, [1, 1, 0, KEYS.length + whole(r, 1, 900)])] }),
  ],
  [
    'LAS-CRS-16',
    'keys out of order',
    (s, r) => {
      const keys = [...KEYS];
      const at = r.below(keys.length - 1);
      [keys[at], keys[at + 1]] = [keys[at + 1], keys[at]];
      return s.las12({ crs: null, vlrs: [directory(keys)] });
    },
  ],
  [
    'LAS-CRS-17',
    'a key whose value is missing',
    (s, r) => s.las12({ crs: null, vlrs: [directory([...KEYS, [5000, oneOf(r, [34736, 34737, 99]), 1, 4]])] }),
  ],
  [
    'LAS-CRS-18',
    'values without a directory',
    (s, r) =>
      s.las14({
        vlrs: [{ userId: PROJECTION, recordId: oneOf(r, [34736, 34737]), data: new Uint8Array(16) }],
      }),
  ],
];

/** A text that the stricter convention has nothing against; the geoid is invented. */
export const STRICT_WKT = SOUND.replaceAll('DVR90 height"', 'DVR90 height - Geoid02"');
const strict = { strictWkt: true };

/** Files that the format's own rules have nothing against, but the stricter convention has. */
export const strictWktBreaks: Break[] = [
  // LAS 1.5 allows every version of WKT.
  ['USGS-WKT-01', 'WKT 2', (s) => s.las15({ crs: null, vlrs: [wkt(`${WKT2.replaceAll(', ', ',')}\0`)] }), strict],
  ['USGS-WKT-02', 'no height system', (s) => s.las14({ crs: null, vlrs: [wkt(`${UTM32.wkt}\0`)] }), strict],
  [
    'USGS-WKT-03',
    'a part without its code',
    (s, r) => {
      const code = oneOf(r, [',AUTHORITY["EPSG","7019"]', ',AUTHORITY["EPSG","8901"]', ',AUTHORITY["EPSG","9122"]']);
      return s.las14({ crs: null, vlrs: [wkt(`${STRICT_WKT.replace(code, '')}\0`)] });
    },
    strict,
  ],
  ['USGS-WKT-04', 'no geoid', (s) => s.las14(), strict],
  [
    'USGS-WKT-05',
    'a node beside the standard',
    (s, r) => {
      const node = oneOf(r, ['EXTENSION["PROJ4","+proj=utm"]', 'GEOID_MODEL["Geoid02"]']);
      return s.las14({ crs: null, vlrs: [wkt(`${STRICT_WKT.replace('AXIS["Easting"', `${node},AXIS["Easting"`)}\0`)] });
    },
    strict,
  ],
  [
    'USGS-WKT-06',
    'blanks between words',
    (s, r) =>
      s.las14({
        crs: null,
        vlrs: [wkt(`${STRICT_WKT.replace(',GEOGCS', `,${oneOf(r, [' ', '\n', '\r\n  '])}GEOGCS`)}\0`)],
      }),
    strict,
  ],
];

function byReturn(las: Uint8Array): number[] {
  const view = new DataView(las.buffer);
  return [0, 1, 2, 3, 4].map((i) => view.getUint32(111 + 4 * i, true));
}

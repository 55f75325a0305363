import type { CrsRule, StrictWktRule } from '../../cloud/format-issue.js';
import { rule, type StructureRule } from './rule.js';

const R = 'LAS 1.4 R16, 3 Coordinate Reference System Information';
const WKT = 'LAS 1.4 R16, 3 Georeferencing Information Using WKT; LAS 1.5 R00, 3';
const GEO = 'LAS 1.4 R16, 3 GeoKeyDirectoryTag Record';
const USGS = 'USGS Lidar Base Specification 2025 rev. A, coordinate reference system of LAS files';
const ALL = '1.0 to 1.5';

/** Rules about the records of the coordinate system. */
export const crsRules: Record<CrsRule, StructureRule> = {
  'crs-missing': rule('LAS-CRS-01', ALL, 'error', R, 'A coordinate system is recorded.', 4),
  'crs-record-repeated': rule(
    'LAS-CRS-02',
    ALL,
    'error',
    'LAS 1.4 R16, 2.2',
    'There is one WKT record or one GeoTIFF directory, older ones being marked superseded.',
  ),
  'crs-records-both': rule(
    'LAS-CRS-03',
    ALL,
    'warning',
    `${R} (in everyday use, for the sake of older readers)`,
    'The coordinate system is stated as WKT or as GeoTIFF keys, not as both.',
  ),
  'crs-record-kind': rule(
    'LAS-CRS-04',
    ALL,
    'error',
    'LAS 1.4 R16, 2.2: table of representations; LAS 1.5 R00, 3',
    'The coordinate system is stated in the kind of record that version, format and WKT bit ask for.',
  ),
  'crs-legacy': rule(
    'LAS-CRS-05',
    '1.4',
    'warning',
    'LAS 1.4 R16, 2.2: backward compatibility',
    'A file for older readers states its coordinate system as GeoTIFF keys.',
  ),
  'wkt-terminator': rule(
    'LAS-CRS-06',
    '1.4 to 1.5',
    'warning',
    `${WKT} (left out by common writers)`,
    'WKT texts are terminated by a zero byte.',
  ),
  'wkt-empty': rule('LAS-CRS-07', '1.4 to 1.5', 'error', WKT, 'WKT records hold a text.'),
  'wkt-utf8': rule('LAS-CRS-08', '1.4 to 1.5', 'error', WKT, 'WKT texts are UTF-8.'),
  'wkt-syntax': rule(
    'LAS-CRS-09',
    '1.4 to 1.5',
    'error',
    WKT,
    'WKT texts can be taken apart: brackets, quotes and commas fit.',
  ),
  'wkt-numbers': rule(
    'LAS-CRS-10',
    '1.4 to 1.5',
    'error',
    `${WKT}: C locale`,
    'Numbers of WKT texts have a decimal point, whatever the country.',
  ),
  'wkt-version': rule(
    'LAS-CRS-11',
    '1.4',
    'warning',
    'LAS 1.4 R16, 3 (1.5 allows every version)',
    'The WKT text is of the version that LAS 1.4 names (WKT 1).',
  ),
  'wkt-dialect': rule(
    'LAS-CRS-12',
    '1.4',
    'warning',
    'LAS 1.4 R16, 3: dialects',
    'The WKT text is not in the dialect with D_ datums and VERTCS nodes, which the specification excludes.',
  ),
  'geotiff-length': rule('LAS-CRS-13', '1.0 to 1.4', 'error', GEO, 'The GeoTIFF directory has its four leading words.'),
  'geotiff-version': rule('LAS-CRS-14', '1.0 to 1.4', 'error', GEO, 'The GeoTIFF directory begins with 1, 1.'),
  'geotiff-count': rule(
    'LAS-CRS-15',
    '1.0 to 1.4',
    'error',
    GEO,
    'The GeoTIFF directory holds as many keys as it announces.',
  ),
  'geotiff-order': rule(
    'LAS-CRS-16',
    '1.0 to 1.4',
    'warning',
    'GeoTIFF 1.0, 2.4 (from memory)',
    'GeoTIFF keys stand in ascending order.',
  ),
  'geotiff-reference': rule(
    'LAS-CRS-17',
    '1.0 to 1.4',
    'error',
    `${GEO}: wTIFFTagLocation`,
    'GeoTIFF keys refer to values that are there.',
  ),
  'geotiff-lost': rule(
    'LAS-CRS-18',
    '1.0 to 1.4',
    'warning',
    GEO,
    'GeoTIFF values come with the directory that refers to them.',
  ),
};

/** Judged only where the spec asks for the stricter convention. */
export const strictWktRules: Record<StrictWktRule, StructureRule> = {
  'usgs-wkt-version': rule('USGS-WKT-01', '1.4', 'error', USGS, 'The coordinate system is written in WKT 1.'),
  'usgs-wkt-compound': rule(
    'USGS-WKT-02',
    '1.4',
    'error',
    USGS,
    'The coordinate system is a compound of a horizontal and a vertical one.',
  ),
  'usgs-wkt-authority': rule(
    'USGS-WKT-03',
    '1.4',
    'error',
    USGS,
    'Every part of the WKT text but the compound system names its EPSG code.',
  ),
  'usgs-wkt-geoid': rule(
    'USGS-WKT-04',
    '1.4',
    'error',
    USGS,
    'The name of the vertical system ends with the geoid model.',
  ),
  'usgs-wkt-nodes': rule('USGS-WKT-05', '1.4', 'error', USGS, 'The WKT text has no EXTENSION or GEOID_MODEL node.'),
  'usgs-wkt-blanks': rule(
    'USGS-WKT-06',
    '1.4',
    'error',
    USGS,
    'The WKT text has no blanks outside quotes and no control characters.',
  ),
};

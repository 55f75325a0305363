/**
 * Coordinate reference systems of the test clouds, written by hand from the EPSG dataset (codes, names and parameters
 * from memory of it; https://epsg.org). WKT is version 1 (OGC 01-009), the version LAS 1.4 asks for.
 */
export interface HorizontalSystem {
  epsg: number;
  name: string;
  /** EPSG code of the unit, as GeoTIFF key 3076 wants it: 9001 metre, 9002 foot, 9003 US survey foot. */
  unit: number;
  metresPerUnit: number;
  wkt: string;
}

/** A vertical coordinate system with its codes. */
export interface VerticalSystem {
  epsg: number;
  name: string;
  unit: number;
  metresPerUnit: number;
  wkt: string;
}

/** Metres in one US survey foot, 1200/3937 by definition. */
export const US_SURVEY_FOOT = 1200 / 3937;
/** Metres in one international foot, by definition. */
export const INTERNATIONAL_FOOT = 0.3048;

const METRE = 'UNIT["metre",1,AUTHORITY["EPSG","9001"]]';
const FOOT = 'UNIT["foot",0.3048,AUTHORITY["EPSG","9002"]]';
const FOOT_US = 'UNIT["US survey foot",0.304800609601219,AUTHORITY["EPSG","9003"]]';
const DEGREE = 'UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]]';
const GREENWICH = 'PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]]';
const GRS80 = 'SPHEROID["GRS 1980",6378137,298.257222101,AUTHORITY["EPSG","7019"]]';
const ETRS89 = `GEOGCS["ETRS89",DATUM["European_Terrestrial_Reference_System_1989",${GRS80},AUTHORITY["EPSG","6258"]],${GREENWICH},${DEGREE},AUTHORITY["EPSG","4258"]]`;
const NAD83 = `GEOGCS["NAD83",DATUM["North_American_Datum_1983",${GRS80},AUTHORITY["EPSG","6269"]],${GREENWICH},${DEGREE},AUTHORITY["EPSG","4269"]]`;
const AXES = 'AXIS["Easting",EAST],AXIS["Northing",NORTH]';

function utm(zone: number): HorizontalSystem {
  const name = `ETRS89 / UTM zone ${zone}N`;
  const epsg = 25800 + zone;
  const parameters = [
    'PARAMETER["latitude_of_origin",0]',
    `PARAMETER["central_meridian",${zone * 6 - 183}]`,
    'PARAMETER["scale_factor",0.9996]',
    'PARAMETER["false_easting",500000]',
    'PARAMETER["false_northing",0]',
  ].join();
  const wkt = `PROJCS["${name}",${ETRS89},PROJECTION["Transverse_Mercator"],${parameters},${METRE},${AXES},AUTHORITY["EPSG","${epsg}"]]`;
  return { epsg, name, unit: 9001, metresPerUnit: 1, wkt };
}

/** EPSG:25832, ETRS89 / UTM zone 32N, metres. */
export const UTM32: HorizontalSystem = utm(32);
/** EPSG:25833, ETRS89 / UTM zone 33N, metres: the neighbouring zone, for mixing up. */
export const UTM33: HorizontalSystem = utm(33);

/** EPSG:2222, NAD83 / Arizona East (ft), international feet. */
export const STATE_PLANE_FOOT: HorizontalSystem = {
  epsg: 2222,
  name: 'NAD83 / Arizona East (ft)',
  unit: 9002,
  metresPerUnit: INTERNATIONAL_FOOT,
  wkt: `PROJCS["NAD83 / Arizona East (ft)",${NAD83},PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",31],PARAMETER["central_meridian",-110.166666666667],PARAMETER["scale_factor",0.9999],PARAMETER["false_easting",700000],PARAMETER["false_northing",0],${FOOT},${AXES},AUTHORITY["EPSG","2222"]]`,
};

/** EPSG:2227, NAD83 / California zone 3 (ftUS), US survey feet. */
export const STATE_PLANE_FOOT_US: HorizontalSystem = {
  epsg: 2227,
  name: 'NAD83 / California zone 3 (ftUS)',
  unit: 9003,
  metresPerUnit: US_SURVEY_FOOT,
  wkt: `PROJCS["NAD83 / California zone 3 (ftUS)",${NAD83},PROJECTION["Lambert_Conformal_Conic_2SP"],PARAMETER["latitude_of_origin",36.5],PARAMETER["central_meridian",-120.5],PARAMETER["standard_parallel_1",38.4333333333333],PARAMETER["standard_parallel_2",37.0666666666667],PARAMETER["false_easting",6561666.667],PARAMETER["false_northing",1640416.667],${FOOT_US},${AXES},AUTHORITY["EPSG","2227"]]`,
};

function vertical(epsg: number, name: string, datum: string, unit: number, metresPerUnit: number): VerticalSystem {
  const unitText = unit === 9001 ? METRE : unit === 9002 ? FOOT : FOOT_US;
  const wkt = `VERT_CS["${name}",${datum},${unitText},AXIS["Gravity-related height",UP],AUTHORITY["EPSG","${epsg}"]]`;
  return { epsg, name, unit, metresPerUnit, wkt };
}

const DVR90_DATUM = 'VERT_DATUM["Dansk Vertikal Reference 1990",2005,AUTHORITY["EPSG","5206"]]';
const NAVD88_DATUM = 'VERT_DATUM["North American Vertical Datum 1988",2005,AUTHORITY["EPSG","5103"]]';

/** EPSG:5799, DVR90 height, metres. */
export const DVR90 = vertical(5799, 'DVR90 height', DVR90_DATUM, 9001, 1);
/** EPSG:5703, NAVD88 height, metres. */
export const NAVD88 = vertical(5703, 'NAVD88 height', NAVD88_DATUM, 9001, 1);
/** EPSG:8228, NAVD88 height (ft), international feet. */
export const NAVD88_FOOT = vertical(8228, 'NAVD88 height (ft)', NAVD88_DATUM, 9002, INTERNATIONAL_FOOT);
/** EPSG:6360, NAVD88 height (ftUS), US survey feet. */
export const NAVD88_FOOT_US = vertical(6360, 'NAVD88 height (ftUS)', NAVD88_DATUM, 9003, US_SURVEY_FOOT);

/** WKT 1 text: a compound system when there is a vertical part. */
export function wktText(horizontal: HorizontalSystem, verticalSystem: VerticalSystem | null): string {
  if (!verticalSystem) return horizontal.wkt;
  return `COMPD_CS["${horizontal.name} + ${verticalSystem.name}",${horizontal.wkt},${verticalSystem.wkt}]`;
}

/**
 * GeoTIFF directory as [key, location, count, value], sorted by key (GeoTIFF 1.0 section 2.4): model type, raster type,
 * citation in the text record, projected system and its unit, vertical system and its unit.
 */
export function geotiffKeys(
  horizontal: HorizontalSystem,
  verticalSystem: VerticalSystem | null,
): { keys: [number, number, number, number][]; text: string } {
  const name = verticalSystem ? `${horizontal.name} + ${verticalSystem.name}` : horizontal.name;
  const text = `${name}|`;
  const keys: [number, number, number, number][] = [
    [1024, 0, 1, 1],
    [1025, 0, 1, 1],
    [1026, 34737, text.length, 0],
    [3072, 0, 1, horizontal.epsg],
    [3076, 0, 1, horizontal.unit],
  ];
  if (verticalSystem) keys.push([4096, 0, 1, verticalSystem.epsg], [4099, 0, 1, verticalSystem.unit]);
  return { keys, text };
}

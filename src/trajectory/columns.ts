import { plainName } from '../delivery/plain-name.js';
import { SOLUTIONS, type Solution } from '../delivery/trajectory.js';

/** The values of a row of a trajectory. */
export const FIELDS = [
  'time',
  'week',
  'x',
  'y',
  'longitude',
  'latitude',
  'height',
  'roll',
  'pitch',
  'heading',
  'sigmaEast',
  'sigmaNorth',
  'sigmaUp',
  'sigmaRoll',
  'sigmaPitch',
  'sigmaHeading',
  'separationEast',
  'separationNorth',
  'separationUp',
  'satellites',
  'pdop',
  'baseDistance',
  'solution',
] as const;

export type Field = (typeof FIELDS)[number];

/** Meaning of a column: its field, and the factor to metres, degrees or seconds where its name states a unit. */
export interface Column {
  title: string;
  field: Field | null;
  /** "foot": a foot of unknown kind. */
  factor: number | 'foot' | null;
}

/** Names by field, lower case, without blanks, hyphens, dots, underscores and accents. Names of the trade, by custom. */
const NAMES: Partial<Record<Field, readonly string[]>> = {
  time: words(
    'time gpstime timegps gpsseconds gpssec seconds sec secondsofweek secondofweek weekseconds sow tow timeofweek gpstow gpssow utctime utc timestamp datetime epoch zeit t',
  ),
  week: words('week gpsweek weekno weeknumber gpsweekno gpsweeknumber wk woche'),
  longitude: words('longitude lon long lng laenge lange'),
  latitude: words('latitude lat breite'),
  x: words('easting east eastings e x xcoordinate xcoord rechtswert rw ostwert ost'),
  y: words('northing north northings n y ycoordinate ycoord hochwert hw nordwert nord'),
  height: words(
    'height elevation elev z h u up altitude alt ele zcoordinate zcoord ellipsoidheight ellipsoidalheight ellheight hell orthoheight orthometricheight normalheight hoehe hohe',
  ),
  roll: words('roll rollangle'),
  pitch: words('pitch pitchangle'),
  heading: words('heading hdg yaw azimuth headingangle'),
  satellites: words(
    'satellites sats sat nsat nsats numsat numsats numberofsatellites numofsatellites satellitecount satcount sv svs numofgnss numberofgnss',
  ),
  pdop: words('pdop'),
  solution: words(
    'solution solutiontype fix fixtype quality gpsquality gnssquality fixquality ambiguities ambiguity ambiguitystatus',
  ),
  baseDistance: words('basedistance distancetobase basedist baseline baselinelength baselinedistance'),
};

const AXES: readonly (readonly [part: string, names: readonly string[]])[] = [
  ['East', words('east easting e x longitude lon')],
  ['North', words('north northing n y latitude lat')],
  ['Up', words('up u z height h vertical v altitude alt elevation')],
];
const ANGLES: readonly (readonly [part: string, names: readonly string[]])[] = [
  ['Roll', words('roll r')],
  ['Pitch', words('pitch p')],
  ['Heading', words('heading hdg yaw azimuth')],
];
const SIGMA = words('sd sigma std stdev stddev standarddeviation');
const SEPARATION = words('separation sep forwardbackward forwardreverse forwardbackwardseparation difference diff');

/** Factors to metres, degrees and seconds. US survey foot: 1200/3937 m (NIST SP 811, appendix B). */
const UNITS: Record<string, number | 'foot'> = {
  m: 1,
  metre: 1,
  metres: 1,
  meter: 1,
  meters: 1,
  km: 1000,
  cm: 0.01,
  mm: 0.001,
  usft: 1200 / 3937,
  ussft: 1200 / 3937,
  ftus: 1200 / 3937,
  ft: 'foot',
  foot: 'foot',
  feet: 'foot',
  deg: 1,
  degree: 1,
  degrees: 1,
  '°': 1,
  rad: 180 / Math.PI,
  radian: 180 / Math.PI,
  radians: 180 / Math.PI,
  mrad: 0.18 / Math.PI,
  arcmin: 1 / 60,
  arcsec: 1 / 3600,
  s: 1,
  sec: 1,
  seconds: 1,
  ms: 0.001,
  us: 1e-6,
};

/** Field and unit of a column name such as "Roll [deg]", "sigma_east_mm", "East SD" or "GPSTime". */
export function columnOf(title: string): Column {
  const name = title.trim();
  const whole = fieldOf(name);
  if (whole) return { title: name, field: whole, factor: null };
  const bracket = inBrackets(name);
  if (bracket) return { title: name, field: fieldOf(bracket[0]), factor: UNITS[plainName(bracket[1])] ?? null };
  const cut = Math.max(name.lastIndexOf(' '), name.lastIndexOf('_'));
  const factor = cut < 0 ? undefined : UNITS[plainName(name.slice(cut + 1))];
  return { title: name, field: factor === undefined ? null : fieldOf(name.slice(0, cut)), factor: factor ?? null };
}

/** Text before the last bracket of a name, and text inside it. */
function inBrackets(name: string): [stem: string, unit: string] | null {
  if (!/[)\]]$/.test(name)) return null;
  const open = Math.max(name.lastIndexOf('('), name.lastIndexOf('['));
  return open < 0 ? null : [name.slice(0, open), name.slice(open + 1, -1)];
}

function fieldOf(name: string): Field | null {
  const word = plainName(name);
  for (const field of FIELDS) if (NAMES[field]?.includes(word)) return field;
  for (const [axes, marks, kind] of [
    [[...AXES, ...ANGLES], SIGMA, 'sigma'],
    [AXES, SEPARATION, 'separation'],
  ] as const) {
    for (const [part, names] of axes) {
      const found = names.some((one) => marks.some((mark) => word === mark + one || word === one + mark));
      if (found) return `${kind}${part}` as Field;
    }
  }
  return null;
}

function words(list: string): readonly string[] {
  return list.split(' ');
}

const SOLUTION_WORDS: Record<Solution, readonly string[]> = {
  fixed: words('fixed fix rtkfixed rtkfix fixedrtk integer ambiguityfixed 4'),
  float: words('float floating rtkfloat floatrtk ambiguityfloat 5'),
  differential: words('differential diff dgps dgnss sbas 2'),
  // GPX: a fix in two or three dimensions, and the precise positioning service, are positions from codes.
  code: words('code single autonomous standalone gps gnss pps 2d 3d 1 3'),
  'dead-reckoning': words('deadreckoning dr ins insonly inertial estimated 6'),
  none: ['none', 'no', 'nofix', 'invalid', 'n', 'a', 'nan', '', '0'],
};

/** NMEA 0183, GGA: positions of these qualities were not measured. */
const NOT_MEASURED: Record<string, string> = {
  7: 'entered by hand',
  manual: 'entered by hand',
  8: 'simulated',
  simulated: 'simulated',
};

/**
 * Place in SOLUTIONS of a word or of a quality digit of NMEA 0183 (0 none, 1 GPS, 2 differential, 3 PPS, 4 fixed, 5 float, 6 dead
 * reckoning); otherwise the reason why it is none: 7 and 8 are no measured positions.
 */
export function solutionOf(text: string): number | { problem: string } {
  const word = plainName(text.trim().replace(/^"|"$/g, ''));
  const notMeasured = NOT_MEASURED[word];
  if (notMeasured) return { problem: `the position was ${notMeasured}, not measured` };
  const found = SOLUTIONS.findIndex((solution) => SOLUTION_WORDS[solution].includes(word));
  return found >= 0
    ? found
    : {
        problem: 'this is no solution type (fixed, float, differential, code, dead-reckoning, none, or a digit 0 to 6)',
      };
}

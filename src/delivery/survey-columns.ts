import { plainName } from './plain-name.js';

/** The fields that a column of a survey points file can hold. */
export type Field =
  | 'id'
  | 'x'
  | 'y'
  | 'z'
  | 'role'
  | 'surface'
  | 'cloudX'
  | 'cloudY'
  | 'cloudZ'
  | 'sigmaH'
  | 'sigmaV'
  | 'target'
  | 'targetSize'
  | 'degrees';

/** Meaning of a column: its field, and metres per unit when its name states a unit ("foot": a foot of unknown kind). */
export interface Column {
  title: string;
  field: Field | null;
  metres: number | 'foot' | null;
}

/** Names by field, lower case, without blanks, hyphens, dots, underscores and accents. Names of the trade, by custom. */
const NAMES: Record<Field, readonly string[]> = {
  // Names and roles in order of preference: files often have both "id" and "name", or both "role" and "type".
  id: 'id pointid ptid point pt pkt punkt punktnummer punktnr pointnumber pointno pointname name station number nr no'.split(
    ' ',
  ),
  x: 'easting east eastings e x xcoordinate xcoord rechtswert rw ostwert ost'.split(' '),
  y: 'northing north northings n y ycoordinate ycoord hochwert hw nordwert nord'.split(' '),
  z: 'height elevation elev z h zcoordinate zcoord orthoheight orthometricheight normalheight reducedlevel hoehe hohe'.split(
    ' ',
  ),
  role: 'role type pointtype usage punktart'.split(' '),
  surface: 'surface landcover cover oberflaeche oberflache'.split(' '),
  cloudX: 'cloudx cloudeasting cloudeast cloude'.split(' '),
  cloudY: 'cloudy cloudnorthing cloudnorth cloudn'.split(' '),
  cloudZ: 'cloudz cloudheight cloudelevation cloudh'.split(' '),
  sigmaH: 'sigmah sigmaxy sigmahorizontal horizontalsigma stdh stdxy stdevh sdh sdxy'.split(' '),
  sigmaV: 'sigmav sigmaz sigmavertical verticalsigma sigmaheight stdv stdz stdevv stdevz sdv sdz'.split(' '),
  target: 'target targettype targetkind'.split(' '),
  targetSize: 'targetsize targetdiameter targetedge size'.split(' '),
  degrees: 'latitude lat longitude lon long lng breite laenge lange'.split(' '),
};

/** Metres per unit as written in a column name. US survey foot: 1200/3937 m (NIST SP 811, appendix B). */
const UNITS: Record<string, number | 'foot'> = {
  m: 1,
  metre: 1,
  metres: 1,
  meter: 1,
  meters: 1,
  cm: 0.01,
  mm: 0.001,
  usft: 1200 / 3937,
  ussft: 1200 / 3937,
  ftus: 1200 / 3937,
  sft: 1200 / 3937,
  ft: 'foot',
  foot: 'foot',
  feet: 'foot',
};

/** Field and unit of a column name such as "Easting [m]", "ortho_height", "sigma_v_mm" or "Höhe". */
export function columnOf(title: string): Column {
  const name = title.trim();
  const whole = fieldOf(name);
  if (whole) return { title: name, field: whole, metres: null };
  const bracket = inBrackets(name);
  const suffix = /^(.*)[\s_]([A-Za-z]+)$/.exec(name);
  const [stem, unit] = bracket ?? suffix?.slice(1) ?? [];
  if (stem === undefined) return { title: name, field: null, metres: null };
  const metres = UNITS[plainName(unit)] ?? null;
  if (bracket && /^(deg|degree|degrees|°)$/.test(unit.toLowerCase()))
    return { title: name, field: 'degrees', metres: null };
  // Brackets may contain anything, such as the height system; after a blank or underscore only a known unit is one.
  return bracket || metres !== null
    ? { title: name, field: fieldOf(stem), metres }
    : { title: name, field: null, metres: null };
}

/** Text before the last bracket of a name, and text inside it. No regular expression: it would be slow with many brackets. */
function inBrackets(name: string): [stem: string, unit: string] | null {
  if (!/[)\]]$/.test(name)) return null;
  const open = Math.max(name.lastIndexOf('('), name.lastIndexOf('['));
  const unit = name.slice(open + 1, -1).trim();
  return open < 0 || /[)\]]/.test(unit) ? null : [name.slice(0, open).trim(), unit];
}

/** Rank of a column title among titles of the same field, 0 is best. Only names and roles are ranked. */
export function preference(field: Field, title: string): number {
  return field === 'id' || field === 'role' ? NAMES[field].indexOf(plainName(title)) : 0;
}

function fieldOf(name: string): Field | null {
  const word = plainName(name);
  for (const field of Object.keys(NAMES) as Field[]) {
    if (NAMES[field].includes(word)) return field;
  }
  return null;
}

const ROLES: Record<'check' | 'control', readonly string[]> = {
  check: 'check checkpoint checkpoints chk cp ckp validation validationpoint verification test kontrollpunkt'.split(
    ' ',
  ),
  control: 'control controlpoint ctrl gcp groundcontrol groundcontrolpoint passpunkt'.split(' '),
};

const SURFACES: Record<'hard' | 'vegetated', readonly string[]> = {
  hard: 'hard nonvegetated nva open paved asphalt concrete bare bareearth'.split(' '),
  vegetated: 'vegetated vegetation veg vva grass'.split(' '),
};

/** Targets marked on the ground. */
export type SurveyTarget = 'disc' | 'checker' | 'cross' | 'corner';

const TARGETS: Record<SurveyTarget, readonly string[]> = {
  disc: 'disc disk circle round dot'.split(' '),
  checker: 'checker checkerboard chequer chequerboard quadrants'.split(' '),
  cross: 'cross plus'.split(' '),
  corner: 'corner l chevron angle'.split(' '),
};

/** The kind of target a word means; null for other words. */
export function targetOf(word: string): SurveyTarget | null {
  return wordOf(word, TARGETS);
}

/** The role a word means; null for other words. */
export function roleOf(word: string): 'check' | 'control' | null {
  return wordOf(word, ROLES);
}

/** The kind of surface a word means; null for other words. */
export function surfaceOf(word: string): 'hard' | 'vegetated' | null {
  return wordOf(word, SURFACES);
}

function wordOf<Key extends string>(word: string, lists: Record<Key, readonly string[]>): Key | null {
  const text = plainName(word);
  for (const key of Object.keys(lists) as Key[]) if (lists[key].includes(text)) return key;
  return null;
}

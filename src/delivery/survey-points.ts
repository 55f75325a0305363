import { Fault } from '../fault.js';
import { createDecimalReader, type Decimal } from './decimal.js';
import { DEGREES_ADVICE, looksLikeDegrees } from './degrees.js';
import { isBeyondEarth } from './largest-coordinate.js';
import { statedCrs } from './stated-crs.js';
import type { Field, SurveyTarget } from './survey-columns.js';
import { roleOf, surfaceOf, targetOf } from './survey-columns.js';
import { type Cell, rowsOfCsv, rowsOfGeoJson, type SurveyRow } from './survey-table.js';
import { readTextFile } from './text-file.js';

/** A surveyed point, in metres in the cloud's coordinate system. */
export interface SurveyPoint {
  id: string;
  role: 'control' | 'check';
  x: number;
  y: number;
  z: number;
  surface: 'hard' | 'vegetated';
  /** The same point observed manually in the cloud, metres. */
  cloudX: number | null;
  cloudY: number | null;
  cloudZ: number | null;
  /** Standard deviation of the survey, metres; horizontal is per axis. */
  sigmaH: number | null;
  sigmaV: number | null;
  /** Target marked on the ground and visible in the intensity of the cloud, and its size in metres. */
  target: SurveyTarget | null;
  targetSize: number | null;
}

/** Units and coordinate system for reading survey points. */
export interface SurveyPointOptions {
  /** Metres per unit of every length in the file that does not name its own unit; 1 when left out. */
  metresPerUnit?: number;
  /** The same for heights (z, cloud_z, sigma_v), when it differs. */
  metresPerUnitHeight?: number;
  /** Transformation for the system that the file states (null: none); returns null when it is the cloud's. May throw a Fault. */
  system?: (stated: string | null) => PointsSystem | null;
}

/** Another system than the cloud's: its units, and the transformation of horizontal coordinates to the cloud's, in metres. */
export interface PointsSystem {
  name: string;
  metresPerUnit: number;
  metresPerUnitHeight: number;
  /** Null for a location outside one of the projections. */
  transform: (x: number, y: number) => readonly [number, number] | null;
}

/** Texts that mean "nothing" in a cell that may be empty. */
const NOTHING = /^(|-+|n\/?a|nan|null|none)$/i;

/**
 * Reads survey points from CSV (commas, semicolons or tabs; decimal point or comma; `#` comments) or GeoJSON (Point
 * features in projected coordinates). Column names are understood in the trade's usual spellings; x is the easting.
 * Points come in the order of the file; two points at the same place are both kept.
 *
 * @throws Fault with line and column: `file-missing`, `file-unreadable`, `survey-points-columns`, `survey-points-table`,
 * `survey-points-value`, `survey-points-empty`, `points-crs`, `survey-points-double`, `degrees`, `json-syntax`, `geojson-shape`
 */
export async function readSurveyPoints(path: string, options: SurveyPointOptions = {}): Promise<SurveyPoint[]> {
  return parseSurveyPoints(await readTextFile(path, 'survey points file'), path, options);
}

/** As readSurveyPoints, for a text with `\n` line ends; `where` names it in messages. */
export function parseSurveyPoints(text: string, where: string, options: SurveyPointOptions = {}): SurveyPoint[] {
  const rows = /^\ufeff?\s*[{[]/.test(text) ? rowsOfGeoJson(text, where) : rowsOfCsv(text, where);
  if (rows.length === 0) {
    throw new Fault({ code: 'survey-points-empty', what: 'the file names columns but holds no point', where });
  }
  const system = options.system?.(statedCrs(text)) ?? null;
  const number = createDecimalReader();
  const points = rows.map((row) => pointOf({ row, where, number, options, system }));
  refuseDoubles(points, rows, where);
  refuseDegrees(points, rows, { where, options });
  if (system) {
    for (let i = 0; i < points.length; i++) moveInto(points[i], system, `${where}, ${rows[i].place}`);
  }
  points.forEach((point, i) => {
    refuseFar(point, rows[i], where);
  });
  return points;
}

const LENGTHS = ['x', 'y', 'z', 'cloudX', 'cloudY', 'cloudZ', 'sigmaH', 'sigmaV'] as const;

function refuseFar(point: SurveyPoint, { cells, place }: SurveyRow, where: string): void {
  for (const field of LENGTHS) {
    const metres = point[field];
    if (metres === null || !isBeyondEarth(metres)) continue;
    const cell = cells[field];
    const here = cell ? `${where}, ${place}, ${cell.place}` : `${where}, ${place}`;
    throw valueFault('this lies beyond any place on Earth', here, `${metres} m`);
  }
}

/** Transforms the surveyed horizontal coordinates to the cloud's system; coordinates observed in the cloud are already in it. */
function moveInto(point: SurveyPoint, { transform, name }: PointsSystem, where: string): void {
  const place = transform(point.x, point.y);
  if (!place) {
    throw new Fault({
      code: 'points-crs',
      what: `the point lies where ${name} has no coordinates`,
      where,
      found: `${point.x}, ${point.y} m`,
      advice: 'Check the coordinate system stated for the points, and their unit',
    });
  }
  [point.x, point.y] = place;
}

/** Everything needed to read one row. */
interface Reading {
  row: SurveyRow;
  where: string;
  number: (text: string) => Decimal;
  options: SurveyPointOptions;
  system: PointsSystem | null;
}

function pointOf(reading: Reading): SurveyPoint {
  const { row, where } = reading;
  const id = String(row.cells.id?.value ?? '').trim();
  if (id === '') throw valueFault('the point has no name', place(reading, row.cells.id));
  const point: SurveyPoint = {
    id,
    role: wordOf(reading, row.cells.role, roleOf, 'check', 'check or control'),
    x: needed(reading, 'x'),
    y: needed(reading, 'y'),
    z: needed(reading, 'z'),
    surface: wordOf(reading, row.cells.surface, surfaceOf, 'hard', 'hard or vegetated'),
    cloudX: optional(reading, 'cloudX'),
    cloudY: optional(reading, 'cloudY'),
    cloudZ: optional(reading, 'cloudZ'),
    sigmaH: sigma(reading, 'sigmaH'),
    sigmaV: sigma(reading, 'sigmaV'),
    target: targetOfRow(reading),
    targetSize: optional(reading, 'targetSize'),
  };
  if ((point.cloudX === null) !== (point.cloudY === null)) {
    throw valueFault('cloud_x and cloud_y must be given together', `${where}, ${row.place}`);
  }
  refuseTargetSize(point, reading);
  return point;
}

function targetOfRow(reading: Reading): SurveyTarget | null {
  const cell = reading.row.cells.target;
  const text = String(cell?.value ?? '').trim();
  return NOTHING.test(text) ? null : wordOf(reading, cell, targetOf, 'disc', 'disc, checker, cross or corner');
}

/** Smallest and largest plausible size of a target, metres; other sizes mean a wrong unit. */
const TARGET_SIZES = [0.02, 5] as const;

function refuseTargetSize({ target, targetSize }: SurveyPoint, reading: Reading): void {
  if (target === null) return;
  const here = place(reading, reading.row.cells.targetSize ?? reading.row.cells.target);
  if (targetSize === null) throw valueFault(`the size of the ${target} is missing; give it as target_size`, here);
  if (targetSize >= TARGET_SIZES[0] && targetSize <= TARGET_SIZES[1]) return;
  throw new Fault({
    code: 'survey-points-value',
    what: 'a survey target is not of this size',
    where: here,
    found: `${targetSize} m`,
    expected: `${TARGET_SIZES[0]} to ${TARGET_SIZES[1]} m`,
    advice: 'Write another unit into the column name, such as target_size_mm',
  });
}

function needed(reading: Reading, field: Field): number {
  const cell = reading.row.cells[field];
  const value = optional(reading, field);
  if (value === null) throw valueFault('a number is expected here, the cell is empty', place(reading, cell));
  return value;
}

function optional(reading: Reading, field: Field): number | null {
  const cell = reading.row.cells[field];
  if (!cell || cell.value === null || cell.value === undefined) return null;
  if (typeof cell.value === 'number') return inMetres(reading, field, cell, cell.value);
  const text = typeof cell.value === 'string' ? cell.value.trim() : JSON.stringify(cell.value);
  if (NOTHING.test(text)) return null;
  const read = reading.number(text);
  if ('problem' in read) throw valueFault(read.problem, place(reading, cell), `"${text}"`);
  return inMetres(reading, field, cell, read.value);
}

function sigma(reading: Reading, field: 'sigmaH' | 'sigmaV'): number | null {
  const value = optional(reading, field);
  if (value !== null && value < 0) {
    throw valueFault('a standard deviation cannot be negative', place(reading, reading.row.cells[field]), value);
  }
  return value;
}

function inMetres({ options, system, where }: Reading, field: Field, cell: Cell, value: number): number {
  const vertical = field === 'z' || field === 'cloudZ' || field === 'sigmaV';
  // Coordinates observed in the cloud are in its units, whatever the system of the points.
  const units = field === 'cloudX' || field === 'cloudY' || field === 'cloudZ' ? options : (system ?? options);
  const general = units.metresPerUnit ?? 1;
  const factor = vertical ? (units.metresPerUnitHeight ?? general) : general;
  const own = cell.column.metres;
  if (own === 'foot' && factor === 1) {
    throw new Fault({
      code: 'survey-points-columns',
      what: `${cell.place} is in feet, but it is not known in which`,
      where,
      advice: 'State the unit of the points: international feet (0.3048 m) or US survey feet (1200/3937 m)',
    });
  }
  const metres = own === null || own === 'foot' ? factor : own;
  return metres === 1 ? value : value * metres;
}

function wordOf<Word extends string>(
  reading: Reading,
  cell: Cell | undefined,
  meaning: (word: string) => Word | null,
  fallback: Word,
  allowed: string,
): Word {
  const text = String(cell?.value ?? '').trim();
  if (NOTHING.test(text)) return fallback;
  const word = meaning(text);
  if (word !== null) return word;
  const advice = 'Rename the column if it means something else';
  throw new Fault({
    code: 'survey-points-value',
    what: 'this word is not known here',
    where: place(reading, cell),
    found: `"${text}"`,
    expected: allowed,
    advice,
  });
}

function refuseDoubles(points: readonly SurveyPoint[], rows: readonly SurveyRow[], where: string): void {
  const first = new Map<string, number>();
  points.forEach(({ id }, index) => {
    const earlier = first.get(id);
    if (earlier !== undefined) {
      throw new Fault({
        code: 'survey-points-double',
        what: `the point "${id}" stands in ${rows[earlier].place} already`,
        where: `${where}, ${rows[index].place}`,
        advice: 'Every point needs a name of its own',
      });
    }
    first.set(id, index);
  });
}

function refuseDegrees(
  points: readonly SurveyPoint[],
  rows: readonly SurveyRow[],
  reading: Pick<Reading, 'where' | 'options'>,
) {
  const first = rows[0].cells.x;
  // A stated unit takes precedence.
  if (first?.column.metres != null || (reading.options.metresPerUnit ?? 1) !== 1) return;
  const xs = points.map((point) => point.x);
  const ys = points.map((point) => point.y);
  if (!looksLikeDegrees(xs, ys)) return;
  const wayOut = first?.place.startsWith('column')
    ? '; if they are metres, write the unit into the column name, such as "easting (m)"'
    : '';
  throw new Fault({
    code: 'degrees',
    what: 'the coordinates look like latitude and longitude',
    where: `${reading.where}, ${rows[0].place}`,
    found: `${xs[0]}, ${ys[0]}`,
    advice: `${DEGREES_ADVICE}${wayOut}`,
  });
}

function place(reading: Reading, cell: Cell | undefined): string {
  const line = `${reading.where}, ${reading.row.place}`;
  return cell ? `${line}, ${cell.place}` : line;
}

function valueFault(what: string, where: string, found?: string | number): Fault {
  return new Fault({ code: 'survey-points-value', what, where, found });
}

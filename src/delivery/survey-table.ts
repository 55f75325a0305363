import { type CsvError, parse } from 'csv-parse/sync';
import { Fault } from '../fault.js';
import { DEGREES_ADVICE } from './degrees.js';
import { featuresOf, position } from './read-geojson.js';
import { type Column, columnOf, type Field, preference } from './survey-columns.js';

/** One point as stored: texts of a CSV row or values of a GeoJSON feature, and its position in the file. */
export interface SurveyRow {
  /** "line 5" or "feature 3". */
  place: string;
  cells: Partial<Record<Field, Cell>>;
}

/** One value of a row. */
export interface Cell {
  value: unknown;
  column: Column;
  /** `column 4 "height"`, or the name of the property. */
  place: string;
}

const NEEDED: readonly [Field, string, string][] = [
  ['id', 'the name of the point', 'id, point or name'],
  ['x', 'the easting', 'easting, east, x or e'],
  ['y', 'the northing', 'northing, north, y or n'],
  ['z', 'the height', 'height, elevation, z, h or ortho_height'],
];

/** Reads the rows of a CSV text. @throws Fault `survey-points-columns`, `survey-points-table`, `degrees` */
export function rowsOfCsv(text: string, where: string): SurveyRow[] {
  // Spreadsheets may write the delimiter to a separate first line; as a comment it keeps the line numbers right.
  const body = text.replace(/^\ufeff/, '').replace(/^"?sep=.*\n/i, '#\n');
  const delimiter = sniffDelimiter(body);
  const records = parseCsv(body, delimiter, where);
  if (records.length === 0) throw tableFault('the file holds no line with data', where);
  const [head, ...rest] = records;
  const titles = head.record;
  if (titles.filter((title) => /^[+-]?\d[\d.,]*$/.test(title.trim())).length > 1) {
    throw tableFault('the first line must name the columns, but holds numbers', `${where}, line ${head.line}`);
  }
  const columns = titles.map(columnOf);
  const chosen = chooseColumns(columns, where, `line ${head.line}`, NEEDED);
  return rest.map(({ record, line }) => {
    const place = `line ${line}`;
    checkWidth(record, titles.length, delimiter, `${where}, ${place}`);
    const cells: SurveyRow['cells'] = {};
    for (const [field, index] of chosen) {
      const column = columns[index];
      cells[field] = { value: record[index].trim(), column, place: `column ${index + 1} "${column.title}"` };
    }
    return { place, cells };
  });
}

/** Reads the rows of a GeoJSON text of Point features. @throws Fault as rowsOfCsv, and `geojson-shape`, `json-syntax` */
export function rowsOfGeoJson(text: string, where: string): SurveyRow[] {
  return featuresOf(text, where).map((feature) => {
    const here = `${where}, ${feature.place}`;
    const point = feature.type === 'Point' ? position(feature.coordinates) : null;
    if (!point) {
      const found = feature.type === null ? 'no geometry' : feature.type;
      throw new Fault({ code: 'geojson-shape', what: 'a Point with numbers is expected', where: here, found });
    }
    const cells: SurveyRow['cells'] = {};
    const titles = Object.keys(feature.properties);
    const columns = titles.map(columnOf);
    for (const [field, index] of chooseColumns(columns, where, feature.place, [])) {
      if (field === 'x' || field === 'y') continue;
      const column = columns[index];
      cells[field] = { value: feature.properties[titles[index]], column, place: `property "${column.title}"` };
    }
    const coordinate = (title: 'x' | 'y' | 'z', value: number): Cell => ({
      value,
      column: { title, field: title, metres: null },
      place: `coordinate ${title}`,
    });
    cells.x = coordinate('x', point[0]);
    cells.y = coordinate('y', point[1]);
    if (point.length > 2) refuseTwoHeights(cells, point[2], here);
    if (point.length > 2 && !cells.z) cells.z = coordinate('z', point[2]);
    if (!cells.id && feature.id !== null) {
      cells.id = { value: feature.id, column: { title: 'id', field: 'id', metres: null }, place: 'id' };
    }
    for (const [field, what, names] of NEEDED) {
      if (!cells[field]) throw columnFault(`${what} is missing; give a property ${names}`, here, titles);
    }
    return { place: feature.place, cells };
  });
}

/** Refuses a feature with two heights, the third coordinate and a property: which one is meant is unknown. */
function refuseTwoHeights(cells: SurveyRow['cells'], third: number, where: string): void {
  const given = Number(cells.z?.value);
  if (!cells.z || cells.z.column.metres !== null || !Number.isFinite(given) || Math.abs(given - third) < 0.0005) return;
  throw new Fault({
    code: 'survey-points-columns',
    what: `the height as third coordinate is ${third}, as ${cells.z.place} it is ${given}`,
    where,
    advice: 'Keep the one in the height system of the cloud',
  });
}

function chooseColumns(
  columns: readonly Column[],
  where: string,
  place: string,
  needed: typeof NEEDED,
): Map<Field, number> {
  const chosen = new Map<Field, number>();
  const titles = columns.map((column) => column.title);
  columns.forEach(({ field, title }, index) => {
    if (field === null || field === 'degrees') return;
    const earlier = chosen.get(field);
    const better = earlier === undefined ? -1 : preference(field, title) - preference(field, titles[earlier]);
    if (better < 0) chosen.set(field, index);
    else if (earlier !== undefined && better === 0) {
      throw columnFault(
        `"${titles[earlier]}" and "${title}" mean the same`,
        `${where}, ${place}`,
        titles,
        'Keep one of them',
      );
    }
  });
  for (const [field, what, names] of needed) {
    if (chosen.has(field)) continue;
    if ((field === 'x' || field === 'y') && columns.some((column) => column.field === 'degrees')) {
      throw new Fault({
        code: 'degrees',
        what: 'the columns hold latitude and longitude',
        where: `${where}, ${place}`,
        found: titles.join(', '),
        advice: DEGREES_ADVICE,
      });
    }
    const advice = `Call it ${names}; commas, semicolons or tabs stand between columns`;
    throw columnFault(`no column holds ${what}`, `${where}, ${place}`, titles, advice);
  }
  return chosen;
}

function sniffDelimiter(text: string): string {
  const head = text.split('\n').find((line) => line.trim() !== '' && !line.startsWith('#')) ?? '';
  let best = ',';
  let bestScore = -1;
  for (const delimiter of [';', '\t', ',']) {
    const parts = head.split(delimiter);
    const known = parts.filter((part) => columnOf(part.replaceAll('"', '')).field !== null).length;
    // The delimiter that gives most known column names; among equals, the one that gives most columns.
    const score = known * 1000 + parts.length;
    if (score > bestScore) [best, bestScore] = [delimiter, score];
  }
  return best;
}

function parseCsv(text: string, delimiter: string, where: string): { record: string[]; line: number }[] {
  try {
    const parsed = parse(text, {
      delimiter,
      record_delimiter: '\n',
      comment: '#',
      comment_no_infix: true,
      info: true,
      relax_column_count: true,
      skip_empty_lines: true,
      skip_records_with_empty_values: true,
      trim: true,
    }) as unknown as { record: string[]; info: { lines: number } }[];
    return parsed.map(({ record, info }) => ({ record, line: info.lines }));
  } catch (error) {
    const line = (error as CsvError & { lines?: number }).lines;
    const place = line === undefined ? where : `${where}, line ${line}`;
    throw new Fault(
      {
        code: 'survey-points-table',
        what: 'a double quote is not closed or stands inside a text',
        where: place,
        advice: 'Put the whole text in double quotes and double those inside it, or remove them',
      },
      error,
    );
  }
}

function checkWidth(record: readonly string[], width: number, delimiter: string, where: string): void {
  const filled = record.slice(width).some((value) => value.trim() !== '');
  if (record.length >= width && !filled) return;
  throw new Fault({
    code: 'survey-points-table',
    what: record.length < width ? 'the line has too few columns' : 'the line has too many columns',
    where,
    found: record.length,
    expected: width,
    advice:
      record.length > width && delimiter === ','
        ? 'With a decimal comma, put semicolons or tabs between the columns'
        : 'Every line needs as many columns as the first one names, empty ones too',
  });
}

function columnFault(what: string, where: string, titles: readonly string[], advice?: string): Fault {
  return new Fault({ code: 'survey-points-columns', what, where, found: titles.join(', ') || 'nothing', advice });
}

function tableFault(what: string, where: string): Fault {
  const advice = 'The first line names the columns, such as id,easting,northing,height';
  return new Fault({ code: 'survey-points-table', what, where, advice });
}

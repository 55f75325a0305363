import { definitionOf } from '../delivery/stated-crs.js';
import { type StatedTime, statedTime, TIME_SYSTEM_NAMES } from '../delivery/time-systems.js';
import { Fault } from '../fault.js';
import { type Column, columnOf, type Field } from './columns.js';
import { EpochBuilder, SLOT } from './epochs.js';
import { WEEK } from './gps-time.js';
import { LinePieces } from './line-pieces.js';
import type { FormatReader, RawFile } from './raw-drive.js';
import { Cell, RowReader } from './row-reader.js';

/** Attitude and its standard deviations: `# angles: radians` applies to these, and to positions in degrees. */
const ANGLES: readonly Field[] = [
  'roll',
  'pitch',
  'heading',
  'sigmaRoll',
  'sigmaPitch',
  'sigmaHeading',
  'longitude',
  'latitude',
];

/**
 * Reads a table: comma, semicolon or tab between columns, the first line that is no `#` comment names them. Comments before it
 * may state `# time: gps-week-seconds, week 2347`, `# crs: EPSG:25832` and `# angles: radians`.
 */
export class CsvReader implements FormatReader {
  readonly #where: string;
  readonly #lines: LinePieces;
  #line = 0;
  #columns: Column[] | null = null;
  #rows: RowReader | null = null;
  #builder: EpochBuilder | null = null;
  #hasWeek = false;
  #dateTime = false;
  #time: StatedTime | null = null;
  #crs: string | null = null;
  #angles: 'degrees' | 'radians' | null = null;

  /** @param where name of the file in messages */
  constructor(where: string) {
    this.#where = where;
    this.#lines = new LinePieces(where, (bytes, begin, end) => this.#take(bytes, begin, end));
  }

  add(piece: Uint8Array): void {
    this.#lines.add(piece);
  }

  finish(): RawFile {
    this.#lines.finish();
    if (!this.#builder || !this.#columns)
      throw new Fault({ code: 'trajectory-empty', where: this.#where, what: 'the file holds no row of a trajectory' });
    const factors: RawFile['factors'] = {};
    let anglesStated = this.#angles !== null;
    for (const { field, factor } of this.#columns) {
      if (field === null || field === 'time') continue;
      const isAngle = ANGLES.includes(field);
      if (factor !== null) factors[field] = factor;
      else if (isAngle && this.#angles === 'radians') factors[field] = 180 / Math.PI;
      if (field === 'heading' && factor !== null) anglesStated = true;
    }
    const time: StatedTime | null = this.#dateTime ? { system: 'utc', week: null } : this.#time;
    return {
      drives: [{ name: this.#where, fields: this.#builder.fields, epochs: this.#builder.finish() }],
      crs: this.#crs,
      time: this.#hasWeek ? { system: 'gps-seconds', week: null } : time,
      anglesStated,
      factors,
      notes: [],
    };
  }

  #take(bytes: Uint8Array, begin: number, end: number): void {
    let at = begin;
    while (this.#rows === null && at < end) {
      const stop = bytes.indexOf(10, at);
      if (this.#columns === null) {
        this.#line++;
        this.#head(
          decode(bytes.subarray(at, stop))
            .replace(/^\ufeff/, '')
            .trim(),
        );
        at = stop + 1;
      } else {
        this.#prepare(bytes, at, end);
        return;
      }
    }
    if (this.#rows && at < end) this.#rows.read(bytes, at, end);
  }

  #delimiter = ',';

  /** A line before the rows: a comment, or the names of the columns. */
  #head(line: string): void {
    if (line === '' || /^"?sep=/i.test(line)) return;
    if (line.includes('\0')) throw this.#notText();
    if (line.startsWith('#')) {
      this.#comment(line.slice(1));
      return;
    }
    this.#delimiter = sniffDelimiter(line);
    const titles = line.split(this.#delimiter).map((title) => title.trim().replace(/^"(.*)"$/, '$1'));
    while (titles.length > 1 && titles.at(-1) === '') titles.pop();
    const here = `${this.#where}, line ${this.#line}`;
    if (titles.filter((title) => /^[+-]?\d[\d.,:TZ-]*$/.test(title)).length > 1) {
      throw new Fault({
        code: 'trajectory-table',
        where: here,
        what: 'the first line must name the columns, but holds numbers',
        advice: 'Such as time,easting,northing,height,roll,pitch,heading',
      });
    }
    this.#columns = withoutDoubles(titles.map(columnOf), here);
    refuseMissing(this.#columns, here);
  }

  #comment(text: string): void {
    const match = /^\s*(time|crs|angles)\s*[:=]\s*(.*?)\s*$/i.exec(text);
    if (!match) return;
    const [, key, value] = match;
    const refuse = (expected: string) => {
      const where = `${this.#where}, line ${this.#line}`;
      throw new Fault({ code: 'trajectory-statement', where, what: `"${value}" is not known here`, expected });
    };
    if (key.toLowerCase() === 'crs') this.#crs = definitionOf(value) ?? refuse('an EPSG code, WKT or a PROJ string');
    else if (key.toLowerCase() === 'time') this.#time = statedTime(value) ?? refuse(`one of ${TIME_SYSTEM_NAMES}`);
    else if (/^degrees?$/i.test(value)) this.#angles = 'degrees';
    else if (/^radians?$/i.test(value)) this.#angles = 'radians';
    else refuse('degrees or radians');
  }

  /** Columns are known; the first row shows whether times are numbers or texts. */
  #prepare(bytes: Uint8Array, begin: number, end: number): void {
    const columns = this.#columns!;
    const timeAt = columns.findIndex(({ field }) => field === 'time');
    let at = begin;
    while (at < end && (bytes[at] === 35 || bytes[at] === 10 || bytes[at] === 13)) {
      this.#line++;
      const stop = bytes.indexOf(10, at);
      if (bytes[at] === 35) this.#comment(decode(bytes.subarray(at + 1, stop)));
      at = stop + 1;
    }
    if (at >= end) return;
    const row = decode(bytes.subarray(at, bytes.indexOf(10, at)));
    this.#dateTime = /\d[-/:]\d/.test(row.split(this.#delimiter)[timeAt] ?? '');
    const fields = new Set(columns.flatMap(({ field }) => (field === null ? [] : [field])));
    this.#hasWeek = fields.has('week');
    this.#builder = new EpochBuilder(this.#where, fields);
    const shape = {
      delimiter: this.#delimiter.charCodeAt(0),
      kinds: Uint8Array.from(columns, ({ field }) => this.#kindOf(field)),
      slots: Uint8Array.from(columns, ({ field }) => (field === null ? 0 : SLOT[field])),
      titles: columns.map(({ title }) => title),
    };
    this.#rows = new RowReader(this.#where, shape, this.#line, this.#sink(columns[timeAt].factor));
    this.#rows.read(bytes, at, end);
  }

  #kindOf(field: Field | null): number {
    if (field === null) return Cell.skipped;
    if (field === 'solution') return Cell.solution;
    return field === 'time' && this.#dateTime ? Cell.dateTime : Cell.number;
  }

  #sink(factor: Column['factor']): (row: Float64Array, place: () => string) => void {
    const builder = this.#builder!;
    const seconds = typeof factor === 'number' ? factor : 1;
    if (this.#hasWeek && !this.#dateTime) {
      return (row, place) => {
        row[0] = row[SLOT.week] * WEEK + row[0] * seconds;
        builder.add(row, place);
      };
    }
    if (seconds === 1) return (row, place) => builder.add(row, place);
    return (row, place) => {
      row[0] *= seconds;
      builder.add(row, place);
    };
  }

  #notText(): Fault {
    return new Fault({
      code: 'trajectory-table',
      where: this.#where,
      what: 'the file is not a text of single bytes, or holds no text at all',
      advice: 'Save it as UTF-8',
    });
  }
}

/** Text of bytes that are UTF-8, otherwise Windows-1252: names of columns may have letters of any language. */
function decode(bytes: Uint8Array): string {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return new TextDecoder('windows-1252').decode(bytes);
  }
}

function sniffDelimiter(line: string): string {
  const score = (delimiter: string) => {
    const parts = line.split(delimiter);
    return parts.filter((part) => columnOf(part.replaceAll('"', '')).field !== null).length * 1000 + parts.length;
  };
  return [';', '\t', ','].reduce((best, one) => (score(one) > score(best) ? one : best));
}

/** Of columns of one field the first is taken where their values are alternatives; two positions are refused. */
function withoutDoubles(columns: Column[], where: string): Column[] {
  const seen = new Map<Field, string>();
  return columns.map((column) => {
    const { field, title } = column;
    if (field === null) return column;
    const earlier = seen.get(field);
    if (earlier !== undefined) throw columnFault(`"${earlier}" and "${title}" mean the same`, where, columns);
    seen.set(field, title);
    return column;
  });
}

function refuseMissing(columns: readonly Column[], where: string): void {
  const has = (field: Field) => columns.some((column) => column.field === field);
  if (!has('time')) throw columnFault('no column holds the time', where, columns);
  if (!(has('x') && has('y')) && !(has('longitude') && has('latitude')))
    throw columnFault('no two columns hold the position', where, columns);
}

function columnFault(what: string, where: string, columns: readonly Column[]): Fault {
  const names =
    'time; easting and northing, or longitude and latitude; height; commas, semicolons or tabs between them';
  return new Fault({
    code: 'trajectory-columns',
    where,
    what,
    found: columns
      .map(({ title }) => title)
      .join(', ')
      .slice(0, 300),
    advice: `Call the columns ${names}`,
  });
}

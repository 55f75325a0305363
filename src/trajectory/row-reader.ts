import { Fault } from '../fault.js';
import { solutionOf } from './columns.js';
import { DateTimeReader } from './date-time.js';
import { SLOT, SLOTS } from './epochs.js';

/** What a cell of a column holds. */
export const Cell = { skipped: 0, number: 1, solution: 2, dateTime: 3 } as const;

/** How the rows of a file are written. */
export interface RowShape {
  /** Byte between cells: comma, semicolon or tab. */
  delimiter: number;
  /** By column: see Cell, and the place in the row of values. */
  kinds: Uint8Array;
  slots: Uint8Array;
  titles: readonly string[];
}

const LF = 10;
const CR = 13;
const BLANK = 32;
const QUOTE = 34;
const HASH = 35;
const PLUS = 43;
const COMMA = 44;
const MINUS = 45;
const DOT = 46;
const ZERO = 48;

const TEN = Float64Array.from({ length: 23 }, (_, k) => 10 ** k);
/** Numbers below this take another digit and remain exact. */
const ROOM = 900_719_925_474_098;
const NOTHING = /^(|-+|n\/?a|nan|null|none)$/i;

/**
 * Reads rows of numbers from bytes, without a text for each: a million rows a second. Numbers have up to 16 significant digits
 * and a decimal point, or a decimal comma where the delimiter is another; the first mark decides for the whole file.
 */
export class RowReader {
  readonly #where: string;
  readonly #shape: RowShape;
  readonly #row = new Float64Array(SLOTS);
  readonly #sink: (row: Float64Array, place: () => string) => void;
  readonly #place = () => `line ${this.line}`;
  #mark = 0;
  #solutionText = '';
  #solution = 0;
  /** Number of the line that is read, from 1. */
  line: number;

  /** @param sink takes the values of a row by slot, NaN where it has none; the array is the same every time */
  constructor(where: string, shape: RowShape, line: number, sink: (row: Float64Array, place: () => string) => void) {
    this.#where = where;
    this.#shape = shape;
    this.#sink = sink;
    this.line = line;
  }

  /**
   * Reads whole lines.
   * @param bytes of which the last is a line end
   * @throws Fault `trajectory-value`, `trajectory-table`
   */
  read(bytes: Uint8Array, begin: number, end: number): void {
    const row = this.#row;
    const { delimiter, kinds, slots } = this.#shape;
    const columns = kinds.length;
    let i = begin;
    while (i < end) {
      this.line++;
      let c = bytes[i];
      if (c === HASH || c === LF || c === CR || this.#isBlankLine(bytes, i)) {
        while (bytes[i] !== LF) i++;
        i++;
        continue;
      }
      row.fill(Number.NaN);
      let column = 0;
      for (;;) {
        const kind = column < columns ? kinds[column] : Cell.skipped;
        const from = i;
        if (kind === Cell.number) {
          // Sign, digits, mark, digits; everything else is read from a text.
          c = bytes[i];
          while (c === BLANK) c = bytes[++i];
          const negative = c === MINUS;
          if (negative || c === PLUS) c = bytes[++i];
          const digits = i;
          // Nine digits fit into 32 bits, whose sums are quicker than those of doubles.
          let whole = 0;
          let value = 0;
          for (let last = i + 9; c >= ZERO && c <= 57 && i < last; c = bytes[++i])
            whole = (whole * 10 + (c - ZERO)) | 0;
          value = whole;
          while (c >= ZERO && c <= 57 && value < ROOM) {
            value = value * 10 + (c - ZERO);
            c = bytes[++i];
          }
          let count = i - digits;
          let places = 0;
          if ((c === DOT || (c === COMMA && delimiter !== COMMA)) && (c === this.#mark || this.#mark === 0)) {
            this.#mark = c;
            c = bytes[++i];
            const fraction = i;
            let part = 0;
            for (let last = i + 9; c >= ZERO && c <= 57 && i < last; c = bytes[++i])
              part = (part * 10 + (c - ZERO)) | 0;
            places = i - fraction;
            count += places;
            if (value < 4e6) value = value * TEN[places] + part;
            else {
              // The product would not be exact: the digits are taken one by one as far as they fit.
              i = fraction;
              c = bytes[i];
              while (c >= ZERO && c <= 57 && value < ROOM) {
                value = value * 10 + (c - ZERO);
                c = bytes[++i];
              }
              places = i - fraction;
            }
            while (c >= ZERO && c <= 57 && value < ROOM) {
              value = value * 10 + (c - ZERO);
              places++;
              c = bytes[++i];
            }
            // Digits beyond the precision of a number.
            while (c >= ZERO && c <= 57) c = bytes[++i];
          }
          while (c === BLANK) c = bytes[++i];
          if (count > 0 && places <= 22 && (c === delimiter || c === LF || c === CR)) {
            if (places > 0) value /= TEN[places];
            row[slots[column]] = negative ? -value : value;
          } else {
            i = from;
            while (bytes[i] !== delimiter && bytes[i] !== LF) i++;
            row[slots[column]] = this.#numberOf(bytes, from, i, column);
            c = bytes[i];
          }
        } else {
          c = bytes[i];
          // A quoted text may contain the delimiter.
          if (c === QUOTE) while (bytes[++i] !== QUOTE && bytes[i] !== LF);
          while (bytes[i] !== delimiter && bytes[i] !== LF) i++;
          if (kind === Cell.solution) row[SLOT.solution] = this.#solutionOf(bytes, from, i, column);
          else if (kind === Cell.dateTime) row[SLOT.time] = this.#dateTimeOf(bytes, from, i, column);
          c = bytes[i];
        }
        if (c === delimiter) {
          column++;
          i++;
          continue;
        }
        while (bytes[i] !== LF) i++;
        i++;
        break;
      }
      if (column + 1 < columns) throw this.#width(column + 1);
      this.#sink(row, this.#place);
    }
  }

  #isBlankLine(bytes: Uint8Array, from: number): boolean {
    let i = from;
    if (bytes[i] !== BLANK && bytes[i] !== this.#shape.delimiter) return false;
    while (bytes[i] === BLANK || bytes[i] === this.#shape.delimiter || bytes[i] === CR) i++;
    return bytes[i] === LF;
  }

  #numberOf(bytes: Uint8Array, from: number, to: number, column: number): number {
    const text = textOf(bytes, from, to);
    if (NOTHING.test(text)) return Number.NaN;
    const other = this.#mark === DOT ? ',' : this.#mark === COMMA ? '.' : null;
    const plain = text.replace('\u2212', '-');
    if (other !== null && plain.includes(other))
      throw this.#fault(
        `the decimal mark is "${other}" here and "${String.fromCharCode(this.#mark)}" in earlier numbers of the file`,
        column,
        text,
      );
    const point = this.#shape.delimiter === COMMA ? plain : plain.replace(',', '.');
    if (!/^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(point))
      throw this.#fault('a number is expected here', column, text);
    return Number(point);
  }

  #solutionOf(bytes: Uint8Array, from: number, to: number, column: number): number {
    const known = this.#solutionText;
    if (known.length === to - from && known.length > 0) {
      let k = 0;
      while (k < known.length && bytes[from + k] === known.charCodeAt(k)) k++;
      if (k === known.length) return this.#solution;
    }
    const text = Buffer.from(bytes.buffer, bytes.byteOffset + from, to - from).toString('latin1');
    const found = solutionOf(text);
    if (typeof found !== 'number') throw this.#fault(found.problem, column, text.trim());
    this.#solutionText = text;
    this.#solution = found;
    return found;
  }

  readonly #dateTime = new DateTimeReader();

  /** Standard GPS time of YYYY-MM-DD hh:mm:ss.sss in UTC, or with another offset from UTC. */
  #dateTimeOf(bytes: Uint8Array, from: number, to: number, column: number): number {
    const gps = this.#dateTime.gpsOf(textOf(bytes, from, to));
    if (gps === null)
      throw this.#fault(
        'a date and time such as 2025-01-01T00:00:00.000Z is expected here',
        column,
        textOf(bytes, from, to),
      );
    return gps;
  }

  #width(found: number): Fault {
    return new Fault({
      code: 'trajectory-table',
      where: `${this.#where}, line ${this.line}`,
      what: 'the line has too few columns',
      found,
      expected: this.#shape.kinds.length,
      advice: 'The file may have been cut short: export or copy it again',
    });
  }

  #fault(what: string, column: number, found: string): Fault {
    return new Fault({
      code: 'trajectory-value',
      where: `${this.#where}, line ${this.line}, column ${column + 1} "${this.#shape.titles[column]}"`,
      what,
      found: `"${found.slice(0, 60)}"`,
    });
  }
}

function textOf(bytes: Uint8Array, from: number, to: number): string {
  const text = Buffer.from(bytes.buffer, bytes.byteOffset + from, to - from).toString('utf8');
  return text
    .trim()
    .replace(/^"(.*)"$/, '$1')
    .trim();
}

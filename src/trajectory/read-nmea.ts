import { Fault } from '../fault.js';
import { type Field, solutionOf } from './columns.js';
import { gpsOfUtc } from './gps-time.js';
import { LinePieces } from './line-pieces.js';
import type { FormatReader, RawFile } from './raw-drive.js';
import { RowDrive } from './row-drive.js';

const DAY = 86_400;
/** Positions kept until a sentence with the date comes. */
const UNDATED = 10_000;

type Values = Partial<Record<Field, number>>;

/**
 * Reads a log of NMEA 0183 sentences: positions and solutions from GGA, standard deviations from GST, PDOP from GSA, the date from RMC
 * and ZDA. Sentences whose checksum is missing or wrong are left out and counted. Heights are those of GGA, over the geoid of the receiver.
 */
export class NmeaReader implements FormatReader {
  readonly #where: string;
  readonly #lines: LinePieces;
  readonly #drive: RowDrive;
  #line = 0;
  #damaged = 0;
  #unixDay: number | null = null;
  #lastSecond = Number.NaN;
  #current: { second: number; values: Values; line: number } | null = null;
  #undated: { second: number; values: Values; line: number }[] = [];
  #deviations: { second: number; values: Values } | null = null;
  #pdop = Number.NaN;

  constructor(where: string) {
    this.#where = where;
    this.#drive = new RowDrive(where);
    this.#lines = new LinePieces(where, (bytes, begin, end) => this.#take(bytes, begin, end));
  }

  add(piece: Uint8Array): void {
    this.#lines.add(piece);
  }

  finish(): RawFile {
    this.#lines.finish();
    this.#close();
    if (this.#undated.length > 0) {
      throw new Fault({
        code: 'trajectory-time',
        where: this.#where,
        what: 'no sentence states the date',
        advice: 'Record RMC or ZDA sentences beside GGA',
      });
    }
    const notes = [`${this.#where}: heights are over the geoid of the receiver (GGA).`];
    if (this.#damaged > 0)
      notes.push(`${this.#where}: ${this.#damaged} sentences with a missing or wrong checksum were left out.`);
    const drives = [this.#drive.finish()];
    return { drives, crs: null, time: { system: 'utc', week: null }, anglesStated: true, factors: {}, notes };
  }

  #take(bytes: Uint8Array, begin: number, end: number): void {
    for (let at = begin; at < end; ) {
      const stop = bytes.indexOf(10, at);
      this.#line++;
      const dollar = bytes.indexOf(36, at);
      if (dollar >= 0 && dollar < stop) {
        const text = Buffer.from(bytes.buffer, bytes.byteOffset + dollar, stop - dollar)
          .toString('latin1')
          .trim();
        const parts = sentenceOf(text);
        if (parts === null) this.#damaged++;
        else this.#sentence(parts);
      }
      at = stop + 1;
    }
  }

  #sentence(parts: string[]): void {
    switch (parts[0].slice(-3)) {
      case 'GGA':
        this.#position(parts);
        break;
      case 'GST': {
        const [up, east, north] = [number(parts[8]), number(parts[7]), number(parts[6])];
        const second = secondOf(parts[1]);
        const values = { sigmaEast: east, sigmaNorth: north, sigmaUp: up };
        if (this.#current?.second === second) Object.assign(this.#current.values, values);
        else this.#deviations = { second, values };
        break;
      }
      case 'GSA':
        this.#pdop = number(parts[15]);
        break;
      case 'RMC':
        this.#date(secondOf(parts[1]), parts[9]?.slice(0, 2), parts[9]?.slice(2, 4), `20${parts[9]?.slice(4)}`);
        break;
      case 'ZDA':
        this.#date(secondOf(parts[1]), parts[2], parts[3], parts[4]);
        break;
    }
  }

  #position(parts: string[]): void {
    this.#close();
    const second = secondOf(parts[1]);
    const solution = solutionOf(parts[6] ?? '');
    if (typeof solution !== 'number')
      throw new Fault({
        code: 'trajectory-value',
        where: `${this.#where}, line ${this.#line}`,
        what: solution.problem,
      });
    const latitude = degreesOf(parts[2], parts[3]);
    const longitude = degreesOf(parts[4], parts[5]);
    // A row without a position is a gap.
    if (Number.isNaN(second) || Number.isNaN(latitude) || Number.isNaN(longitude)) return;
    const values: Values = { longitude, latitude, height: number(parts[9]), satellites: number(parts[7]), solution };
    if (this.#deviations?.second === second) Object.assign(values, this.#deviations.values);
    this.#current = { second, values, line: this.#line };
  }

  #date(second: number, day: string | undefined, month: string | undefined, year: string | undefined): void {
    const unixDay = Date.parse(`${year}-${month}-${day}T00:00:00Z`) / 1000;
    if (Number.isNaN(unixDay) || Number.isNaN(second)) return;
    if (this.#unixDay !== null) return;
    this.#unixDay = unixDay;
    // Positions from before midnight belong to the day before.
    const first = this.#undated[0] ?? this.#current;
    if (first && first.second > second + DAY / 2) this.#unixDay -= DAY;
    const waiting = this.#undated;
    this.#undated = [];
    for (const row of waiting) this.#put(row);
  }

  /** The position that sentences were added to is complete. */
  #close(): void {
    const row = this.#current;
    this.#current = null;
    if (row === null) return;
    row.values.pdop = this.#pdop;
    if (this.#unixDay !== null) this.#put(row);
    else if (this.#undated.push(row) > UNDATED)
      throw new Fault({ code: 'trajectory-time', where: this.#where, what: 'no sentence states the date' });
  }

  #put({ second, values, line }: { second: number; values: Values; line: number }): void {
    if (second < this.#lastSecond - DAY / 2) this.#unixDay! += DAY;
    this.#lastSecond = second;
    this.#drive.add({ ...values, time: gpsOfUtc(this.#unixDay!, second) }, () => `line ${line}`);
  }
}

/** The fields of a sentence; null where its checksum (exclusive or of the bytes between $ and *) is missing or wrong. */
export function sentenceOf(text: string): string[] | null {
  const star = text.lastIndexOf('*');
  if (!text.startsWith('$') || star < 0) return null;
  let sum = 0;
  for (let i = 1; i < star; i++) sum ^= text.charCodeAt(i);
  return Number.parseInt(text.slice(star + 1, star + 3), 16) === sum ? text.slice(1, star).split(',') : null;
}

/** Second of the day of hhmmss.ss; NaN for other texts. */
function secondOf(text: string | undefined): number {
  if (!text || !/^\d{6}(\.\d*)?$/.test(text)) return Number.NaN;
  return Number(text.slice(0, 2)) * 3600 + Number(text.slice(2, 4)) * 60 + Number(text.slice(4));
}

/** Degrees of ddmm.mm and a hemisphere; NaN for other texts. */
function degreesOf(text: string | undefined, side: string | undefined): number {
  const point = text ? (text.indexOf('.') < 0 ? text.length : text.indexOf('.')) : 0;
  if (!text || point < 3 || !/^\d+(\.\d*)?$/.test(text)) return Number.NaN;
  const degrees = Number(text.slice(0, point - 2)) + Number(text.slice(point - 2)) / 60;
  return side === 'S' || side === 'W' ? -degrees : degrees;
}

function number(text: string | undefined): number {
  return text === undefined || text === '' ? Number.NaN : Number(text);
}

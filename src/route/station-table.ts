import { parse } from 'csv-parse/sync';
import { createDecimalReader } from '../delivery/decimal.js';
import { statedCrs } from '../delivery/stated-crs.js';
import { Fault } from '../fault.js';
import { parseStation, type StationStyle } from '../geometry/stationing.js';
import {
  directionOf,
  equationsOf,
  type FileLine,
  type RouteFile,
  shapeFault,
  stationFault,
  type WrittenEquation,
  wholeNumber,
} from './file-line.js';

/** Columns, each with the names it may have. */
const COLUMNS = {
  line: ['line', 'name', 'alignment'],
  station: ['station', 'chainage'],
  x: ['easting', 'east', 'x', 'e'],
  y: ['northing', 'north', 'y', 'n'],
  direction: ['direction'],
  lanes: ['lanes'],
  passes: ['planned_passes', 'passes'],
} as const;

type ColumnName = keyof typeof COLUMNS;

interface Row {
  line: number;
  cells: Partial<Record<ColumnName, string>>;
}

/** A chord may be so much shorter than its curve: 50 m on a radius of 70 m. */
const SHORTEST_CHORD = 0.95;
/** Rounding of stations and coordinates, metres. */
const ROUNDING = 0.02;

/**
 * Lines of a table of stations (CSV): a line of text for every vertex, with the name of the line, its station, easting and northing, in
 * the order of the line. Two lines of text in succession with one place and two stations are a station equation. The distance along
 * the curve is the difference of the stations, which must fit the distance of the vertices.
 * @throws Fault `route-table`, `route-station`, `route-shape`
 */
export function linesOfTable(text: string, where: string, style: StationStyle, metresPerUnit: number): RouteFile {
  const lines = new Map<string, Row[]>();
  for (const row of rowsOf(text.replace(/^\ufeff/, ''), where)) {
    const name = row.cells.line || 'line 1';
    lines.set(name, [...(lines.get(name) ?? []), row]);
  }
  const decimal = createDecimalReader();
  return {
    lines: [...lines].map(([name, rows]) => lineOf(name, rows, where, { style, metresPerUnit, decimal })),
    metresPerUnit: null,
    system: statedCrs(text),
    notes: [],
  };
}

function rowsOf(text: string, where: string): Row[] {
  const head = text.split('\n').find((line) => line.trim() !== '' && !line.startsWith('#')) ?? '';
  const delimiter = [';', '\t', ','].reduce((best, one) =>
    head.split(one).length > head.split(best).length ? one : best,
  );
  let records: { record: string[]; info: { lines: number } }[];
  try {
    records = parse(text, {
      delimiter,
      comment: '#',
      comment_no_infix: true,
      info: true,
      relax_column_count: true,
      skip_empty_lines: true,
      skip_records_with_empty_values: true,
      trim: true,
    }) as unknown as typeof records;
  } catch (error) {
    throw new Fault({ code: 'route-table', what: 'a double quote is not closed or is inside a text', where }, error);
  }
  const [first, ...rest] = records;
  const titles = (first?.record ?? []).map((title) => title.trim().toLowerCase());
  const index = (name: ColumnName) => titles.findIndex((title) => (COLUMNS[name] as readonly string[]).includes(title));
  for (const name of ['station', 'x', 'y'] as const) {
    if (index(name) >= 0) continue;
    throw new Fault({
      code: 'route-table',
      what: `no column holds ${name === 'station' ? 'the station' : name === 'x' ? 'the easting' : 'the northing'}`,
      where,
      found: titles.join(', ') || 'nothing',
      advice: 'The first line names the columns: line,station,easting,northing',
    });
  }
  return rest.map(({ record, info }) => ({
    line: info.lines,
    cells: Object.fromEntries(
      (Object.keys(COLUMNS) as ColumnName[]).map((name) => [name, (record[index(name)] ?? '').trim()]),
    ),
  }));
}

interface Reading {
  style: StationStyle;
  metresPerUnit: number;
  decimal: ReturnType<typeof createDecimalReader>;
}

function lineOf(name: string, rows: readonly Row[], file: string, reading: Reading): FileLine {
  const { metresPerUnit } = reading;
  const where = `${file} (${name})`;
  const places = rows.map((row) => {
    const here = `${file}, line ${row.line}`;
    const number = (key: 'x' | 'y') => {
      const read = reading.decimal(row.cells[key] ?? '');
      if ('value' in read) return read.value;
      throw new Fault({ code: 'route-table', what: read.problem, where: here, found: row.cells[key] || 'nothing' });
    };
    return { x: number('x'), y: number('y'), station: stationOf(row.cells.station ?? '', here, reading), here };
  });
  const x: number[] = [];
  const y: number[] = [];
  const distance: number[] = [];
  const written: WrittenEquation[] = [];
  const startStation = places[0].station;
  let increasing: boolean | null = null;
  for (const [i, place] of places.entries()) {
    const before = places[i - 1];
    if (before && before.x === place.x && before.y === place.y) {
      if (before.station === place.station) continue;
      // The sense after an equation is seen at the next vertex.
      const next = places[i + 1];
      const sense: boolean = next ? next.station > place.station : (increasing ?? true);
      written.push({
        internal: startStation + distance[distance.length - 1],
        back: before.station,
        ahead: place.station,
        increasing: sense,
      });
      increasing = sense;
      continue;
    }
    if (before) {
      const step = place.station - before.station;
      if (increasing === null) {
        increasing = step > 0;
        if (!increasing) written.push({ internal: startStation, back: null, ahead: startStation, increasing: false });
      }
      distance.push(
        distance[distance.length - 1] + lengthBetween(before, place, increasing ? step : -step, metresPerUnit),
      );
    } else distance.push(0);
    x.push(place.x);
    y.push(place.y);
  }
  const cell = (key: ColumnName) => rows.find((row) => row.cells[key])?.cells[key] ?? null;
  return {
    name,
    where,
    x,
    y,
    distance,
    startStation,
    equations: equationsOf(written, { startStation, length: distance.at(-1) ?? 0, metresPerUnit }, where),
    direction: directionOf(cell('direction'), where),
    lanes: wholeNumber(cell('lanes'), 'the number of lanes', where),
    plannedPasses: wholeNumber(cell('passes'), 'the number of planned passes', where),
  };
}

/** Length along the curve between two vertices: the difference of their stations, where that fits their distance. */
function lengthBetween(
  a: { x: number; y: number },
  b: { x: number; y: number; here: string },
  step: number,
  metresPerUnit: number,
): number {
  const chord = Math.hypot(b.x - a.x, b.y - a.y);
  const rounding = ROUNDING / metresPerUnit;
  if (step >= chord - rounding && step * SHORTEST_CHORD <= chord + rounding && step > 0) return step;
  throw new Fault({
    code: 'route-station',
    what: 'the station does not fit the distance from the vertex before',
    where: b.here,
    found: `${step.toFixed(3)} by stations, ${chord.toFixed(3)} by coordinates`,
    advice: 'Where stations change, give the place twice: with the station back, then with the station ahead',
  });
}

function stationOf(text: string, here: string, { style, metresPerUnit, decimal }: Reading): number {
  if (text === '') throw shapeFault('the vertex has no station', here);
  if (!/[+a-z]/i.test(text.slice(1))) {
    const read = decimal(text);
    if ('value' in read) return read.value;
  }
  const station = parseStation(text, style);
  if (station) return station.station / metresPerUnit;
  throw stationFault('this is not a station', here, text, style.notation);
}

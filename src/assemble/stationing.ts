import type { DeliveryFacts } from '../delivery/delivery.js';
import { type Route, type StationOffset, stationingOf } from '../delivery/route.js';
import type { Drive } from '../delivery/trajectory.js';
import { LineIndex, type MeasuredLine } from '../geometry/nearest-on-line.js';
import { type Stationing, type StationStyle, stationAt, stationLabel } from '../geometry/stationing.js';
import type { Report } from '../report/model.js';

/** Places farther from every line than this have no station, metres. */
const FARTHEST = 200;
/** Places may be so far beyond the end of a line, metres: lines and clouds are not cut at the same millimetre. */
const BEYOND_END = 1;
/** Distance between the positions of a drive that are used, metres. */
const DRIVE_STEP = 1;

/** The keys of a place along a line; none where the place has no station. */
export interface PlaceOnRoute {
  line?: string;
  station?: number;
  stationLabel?: string;
  offset?: number;
}

/** A place as numbers: which line, metres from its begin, and the offset. */
type LinePlace = Omit<StationOffset, 'station'>;

/** A line that places are given a station on. */
export interface StationedLine {
  name: string;
  geometry: MeasuredLine;
  stationing: Stationing;
}

/** Finds stations and offsets of places: along the planned route, or along the drives where no route was given. */
export class Stations {
  readonly by: 'route' | 'distance-driven';
  readonly lines: readonly StationedLine[];
  readonly style: StationStyle;
  private readonly indexes: readonly LineIndex[];

  constructor(by: Stations['by'], lines: readonly StationedLine[], style: StationStyle) {
    this.by = by;
    this.lines = lines;
    this.style = style;
    this.indexes = lines.map(({ geometry }) => new LineIndex(geometry));
  }

  /** The place on the nearest line; null where the place has no station. Of equally near lines the first one is taken. */
  place(x: number, y: number): LinePlace | null {
    let best: LinePlace | null = null;
    let within = FARTHEST;
    this.indexes.forEach((index, line) => {
      const found = index.nearest(x, y, within);
      if (!found || found.beyond > BEYOND_END || (best !== null && found.gap >= within)) return;
      within = found.gap;
      best = { line, distance: found.distance, offset: found.offset };
    });
    return best;
  }

  /** The keys of a place in the report. */
  keys(x: number, y: number): PlaceOnRoute {
    const place = this.place(x, y);
    if (!place) return {};
    const { name, stationing } = this.lines[place.line];
    return {
      line: name,
      station: stationAt(stationing, place.distance),
      stationLabel: this.label(place.line, place.distance),
      offset: place.offset,
    };
  }

  /** The station at a distance from the begin of a line as it is written, with one decimal. */
  label(line: number, distance: number): string {
    if (this.by === 'distance-driven') return `${distance.toFixed(1)} m driven`;
    return stationLabel(this.lines[line].stationing, distance, this.style);
  }
}

/** Stations of a delivery: of its route, else of its drives; null where it has neither. */
export function stationsOf({ route, trajectory }: Pick<DeliveryFacts, 'route' | 'trajectory'>): Stations | null {
  if (route) return routeStations(route);
  const lines = (trajectory?.drives ?? []).flatMap(driveLine);
  return lines.length === 0 ? null : new Stations('distance-driven', lines, { notation: '3+250', metresPerUnit: 1 });
}

function routeStations(route: Route): Stations {
  const lines = route.lines.map((line) => ({
    name: line.name,
    geometry: { x: line.x, y: line.y, distance: line.distance },
    stationing: stationingOf(line),
  }));
  return new Stations('route', lines, { notation: route.notation, metresPerUnit: route.metresPerUnit });
}

/** A drive as a line: its positions about a metre apart, and the distance driven up to each; none where it does not move. */
function driveLine({ name, epochs, x, y }: Drive): StationedLine[] {
  const kept: number[] = [];
  for (let i = 0; i < epochs; i++) {
    const last = kept[kept.length - 1];
    if (last === undefined || Math.hypot(x[i] - x[last], y[i] - y[last]) >= DRIVE_STEP) kept.push(i);
  }
  if (kept.length < 2) return [];
  const geometry = {
    x: Float64Array.from(kept, (i) => x[i]),
    y: Float64Array.from(kept, (i) => y[i]),
    distance: new Float64Array(kept.length),
  };
  for (let k = 1; k < kept.length; k++) {
    const step = Math.hypot(geometry.x[k] - geometry.x[k - 1], geometry.y[k] - geometry.y[k - 1]);
    geometry.distance[k] = geometry.distance[k - 1] + step;
  }
  const length = geometry.distance[kept.length - 1];
  return [{ name, geometry, stationing: { startStation: 0, length, equations: [] } }];
}

/** The report with station and offset at every place that has coordinates: locations, survey points, and rows of tables with x and y. */
export function withStations(report: Report, stations: Stations): Report {
  return {
    ...report,
    requirements: report.requirements.map((requirement) => ({
      ...requirement,
      locations: requirement.locations.map((place) => ({ ...place, ...stations.keys(place.x, place.y) })),
      tables: requirement.tables.map((table) => tableWithStations(table, stations)),
    })),
    surveyPoints: report.surveyPoints.map((point) => ({ ...point, ...stations.keys(point.x, point.y) })),
  };
}

type Table = Report['requirements'][number]['tables'][number];

/** A table whose rows have x and y gets the columns line, station and offset after its own. */
function tableWithStations(table: Table, stations: Stations): Table {
  const [x, y] = ['x', 'y'].map((axis) => table.columns.findIndex(({ key }) => key === axis));
  if (x < 0 || y < 0) return table;
  const title = stations.by === 'route' ? 'station' : 'distance driven';
  return {
    ...table,
    columns: [
      ...table.columns,
      { key: 'line', title: stations.by === 'route' ? 'line' : 'drive' },
      { key: 'station', title },
      { key: 'offset', title: 'offset, right positive', unit: 'm' },
    ],
    rows: table.rows.map((row) => {
      const [east, north] = [row[x], row[y]];
      const keys = typeof east === 'number' && typeof north === 'number' ? stations.keys(east, north) : {};
      return [...row, keys.line ?? null, keys.stationLabel ?? null, keys.offset ?? null];
    }),
  };
}

/** What the report says about its stations. */
export function stationingLines(stations: Stations, route: Route | null, sectionMetres: number): Report['stationing'] {
  return {
    by: stations.by,
    sectionMetres,
    lines: stations.lines.map(({ name, stationing: { length } }, i) => ({
      line: name,
      length,
      from: stations.label(i, 0),
      to: stations.label(i, length),
      direction: route?.lines[i].direction ?? null,
      lanes: route?.lines[i].lanes ?? null,
      plannedPasses: route?.lines[i].plannedPasses ?? null,
    })),
  };
}

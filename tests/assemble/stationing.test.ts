import { describe, expect, it } from 'vitest';
import { stationsOf, withStations } from '../../src/assemble/stationing.js';
import type { Route, RouteLine } from '../../src/delivery/route.js';
import type { Drive } from '../../src/delivery/trajectory.js';
import { consoleSummary } from '../../src/report/console.js';
import { csvFiles } from '../../src/report/csv.js';
import { reportGeoJson } from '../../src/report/geojson.js';
import { reportHtml } from '../../src/report/html.js';
import { reportMarkdown } from '../../src/report/markdown.js';
import { quayRoad } from '../report/sample.js';

function lineOf(name: string, x: number[], y: number[], more: Partial<RouteLine> = {}): RouteLine {
  const distance = new Float64Array(x.length);
  for (let i = 1; i < x.length; i++) distance[i] = distance[i - 1] + Math.hypot(x[i] - x[i - 1], y[i] - y[i - 1]);
  return {
    name,
    x: Float64Array.from(x),
    y: Float64Array.from(y),
    distance,
    startStation: 0,
    equations: [],
    direction: null,
    lanes: null,
    plannedPasses: null,
    ...more,
  };
}

function routeOf(...lines: RouteLine[]): Route {
  return { lines, notation: '3+250', metresPerUnit: 1, notes: [] };
}

const north = lineOf('North', [100, 100], [0, 300], { startStation: 3250 });
const south = lineOf('South', [110, 110], [300, 0], {
  startStation: 3550,
  equations: [{ internal: 3550, back: 3550, ahead: 3550, increasing: false }],
});

describe('stations of places', () => {
  const stations = stationsOf({ route: routeOf(north, south), trajectory: null })!;

  it('are those of the nearest line, the offset right of its direction positive', () => {
    expect(stations.keys(102, 50)).toEqual({ line: 'North', station: 3300, stationLabel: '3+300.0', offset: 2 });
    expect(stations.keys(97, 50).offset).toBe(-3);
    // The southbound line counts down from 3+550: 50 m from the south end it is at 3+300 too.
    expect(stations.keys(108, 50)).toEqual({ line: 'South', station: 3300, stationLabel: '3+300.0', offset: 2 });
  });

  it('are absent beyond the ends and far from every line', () => {
    expect(stations.keys(100, -5)).toEqual({});
    expect(stations.keys(100, 300.5).station).toBe(3550);
    expect(stations.keys(-101, 50)).toEqual({});
  });

  it('without a route count the distance driven, and say so', () => {
    const y = Float64Array.from({ length: 201 }, (_, i) => i / 2);
    const drive = { name: 'drive 1', epochs: 201, x: new Float64Array(201), y } as Drive;
    const driven = stationsOf({ route: null, trajectory: { drives: [drive], notes: [] } })!;
    const place = driven.keys(1.5, 40);
    expect(place).toMatchObject({ line: 'drive 1', stationLabel: '40.0 m driven', offset: 1.5 });
    expect(place.station).toBeCloseTo(40, 9);
    expect(stationsOf({ route: null, trajectory: null })).toBeNull();
    const parked = { ...drive, y: new Float64Array(201) };
    expect(stationsOf({ route: null, trajectory: { drives: [parked], notes: [] } })).toBeNull();
  });
});

describe('a report with stations', () => {
  const plain = quayRoad();
  const [{ x, y }] = plain.requirements.find((r) => r.locations.length > 0 && r.verdict === 'fail')!.locations;
  const route = routeOf(lineOf('Axis 1', [x - 2, x - 2], [y - 100, y + 900], { startStation: 5000 }));
  const report = withStations(plain, stationsOf({ route, trajectory: null })!);

  it('has station and offset of its places in every output', () => {
    const words = 'Axis 1 5+100.0, 2.0 m right';
    expect(consoleSummary(report, { columns: 400 })).toContain(words);
    expect(reportMarkdown(report)).toContain(words);
    expect(reportHtml(report)).toContain('Axis 1 5+100.0');
    const table = csvFiles(report).find(({ name }) => name === 'locations.csv')!.text;
    expect(table.split('\r\n')[0]).toContain('line,station,station_label,offset');
    expect(table).toContain('Axis 1,5100,5+100.0,2,');
    const { features } = JSON.parse(reportGeoJson(report, null));
    const found = features.find((f: { properties: { station?: number } }) => f.properties.station === 5100);
    expect(found.properties).toMatchObject({ line: 'Axis 1', stationLabel: '5+100.0', offset: 2 });
  });

  it('without a route says nothing of stations', () => {
    expect(reportHtml(plain)).not.toContain('Offset');
    expect(JSON.stringify(plain)).not.toContain('stationLabel');
  });

  it('adds them to rows of tables that have coordinates, and to no other', () => {
    const columns = ['id', 'x', 'y'].map((key) => ({ key, title: key }));
    const rows = [
      ['here', x, y],
      ['elsewhere', 0, 0],
      ['nowhere', null, null],
    ];
    const tables = [
      { title: 'places', columns, rows },
      { title: 'names', columns: columns.slice(0, 1), rows: [['A']] },
    ];
    const given = { ...plain, requirements: [{ ...plain.requirements[0], tables }] };
    const [places, names] = withStations(given, stationsOf({ route, trajectory: null })!).requirements[0].tables;
    expect(places.columns.map(({ key }) => key)).toEqual(['id', 'x', 'y', 'line', 'station', 'offset']);
    expect(places.rows.map((row) => row.slice(3))).toEqual([
      ['Axis 1', '5+100.0', 2],
      [null, null, null],
      [null, null, null],
    ]);
    expect(names).toEqual(tables[1]);
  });
});

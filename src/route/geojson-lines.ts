import { type Feature, featuresOf, position } from '../delivery/read-geojson.js';
import { statedCrs } from '../delivery/stated-crs.js';
import { parseStation, type StationStyle } from '../geometry/stationing.js';
import {
  chordDistances,
  directionOf,
  equationsOf,
  type FileLine,
  type RouteFile,
  shapeFault,
  stationFault,
  type WrittenEquation,
  wholeNumber,
} from './file-line.js';

/** Properties of a line, each with the names it may have. */
const PROPERTIES = {
  name: ['name', 'line', 'id'],
  direction: ['direction'],
  lanes: ['lanes'],
  passes: ['plannedpasses', 'planned_passes', 'passes'],
  start: ['startstation', 'start_station'],
  stations: ['stations'],
  equations: ['equations'],
} as const;

/**
 * Lines of a GeoJSON text: LineString features with their properties (name, direction, lanes, plannedPasses, startStation, stations,
 * equations). Coordinates are projected, in the unit of the cloud, which is that of stations as numbers too; stations as text are in the
 * notation of the run.
 * @throws Fault `json-syntax`, `geojson-shape`, `degrees`, `route-shape`, `route-station`
 */
export function linesOfGeoJson(text: string, where: string, style: StationStyle, metresPerUnit: number): RouteFile {
  const lines = featuresOf(text, where).map((feature, i) =>
    lineOf(feature, `line ${i + 1}`, `${where}, ${feature.place}`, style, metresPerUnit),
  );
  return { lines, metresPerUnit: null, system: statedCrs(text), notes: [] };
}

function lineOf(
  feature: Feature,
  unnamed: string,
  where: string,
  style: StationStyle,
  metresPerUnit: number,
): FileLine {
  if (feature.type !== 'LineString' || !Array.isArray(feature.coordinates)) {
    throw shapeFault('a line of the route must be a LineString', where, {
      found: feature.type ?? 'no geometry',
      advice: 'Give every line as a feature of its own',
    });
  }
  const x: number[] = [];
  const y: number[] = [];
  feature.coordinates.forEach((item, i) => {
    const place = position(item);
    if (!place) throw shapeFault(`position ${i + 1} is not a pair of numbers`, where, { found: JSON.stringify(item) });
    if (place[0] === x.at(-1) && place[1] === y.at(-1)) return;
    x.push(place[0]);
    y.push(place[1]);
  });
  const read = (key: keyof typeof PROPERTIES) => propertyOf(feature, PROPERTIES[key]);
  const station = (value: unknown, what: string) => stationOf(value, what, where, style, metresPerUnit);
  const startStation = station(read('start') ?? 0, 'the start station') ?? 0;
  const distance = chordDistances(x, y);
  const decreasing = isDecreasing(read('stations'), where);
  const begin: WrittenEquation = { internal: startStation, back: null, ahead: startStation, increasing: false };
  const written = [...(decreasing ? [begin] : []), ...equationList(read('equations'), where, station, !decreasing)];
  const name = read('name') ?? feature.id;
  return {
    name: name === null || String(name).trim() === '' ? unnamed : String(name).trim(),
    where,
    x,
    y,
    distance,
    startStation,
    equations: equationsOf(written, { startStation, length: distance.at(-1) ?? 0, metresPerUnit }, where),
    direction: directionOf(read('direction'), where),
    lanes: wholeNumber(read('lanes'), 'the number of lanes', where),
    plannedPasses: wholeNumber(read('passes'), 'the number of planned passes', where),
  };
}

function propertyOf({ properties }: Feature, names: readonly string[]): unknown {
  const key = Object.keys(properties).find((title) => names.includes(title.trim().toLowerCase()));
  return key === undefined ? null : properties[key];
}

function isDecreasing(value: unknown, where: string): boolean {
  if (value === null || value === 'increasing') return false;
  if (value === 'decreasing') return true;
  throw stationFault('stations must be increasing or decreasing', where, String(value));
}

/** A station in the unit of the file; null where none is given. */
function stationOf(
  value: unknown,
  what: string,
  where: string,
  style: StationStyle,
  metresPerUnit: number,
): number | null {
  if (value === null || value === undefined) return null;
  if (typeof value === 'number' && Number.isFinite(value)) return value;
  const read = typeof value === 'string' ? parseStation(value, style) : null;
  if (read) return read.station / metresPerUnit;
  throw stationFault(`${what} is not a station`, where, JSON.stringify(value), style.notation);
}

function equationList(
  value: unknown,
  where: string,
  station: (value: unknown, what: string) => number | null,
  increasing: boolean,
): WrittenEquation[] {
  if (value === null) return [];
  if (!Array.isArray(value)) throw stationFault('equations must be a list', where, JSON.stringify(value));
  let sense = increasing;
  return value.map((item: unknown, i) => {
    const one = (typeof item === 'object' && item !== null ? item : {}) as Record<string, unknown>;
    const what = (key: string) => `"${key}" of station equation ${i + 1}`;
    const ahead = station(one.ahead, what('ahead'));
    if (ahead === null) throw stationFault(`station equation ${i + 1} has no station ahead`, where);
    if (typeof one.increasing === 'boolean') sense = one.increasing;
    return {
      internal: station(one.internal, what('internal')),
      back: station(one.back, what('back')),
      ahead,
      increasing: sense,
    };
  });
}

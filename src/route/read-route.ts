import { refuseDegrees } from '../delivery/degrees.js';
import type { DeliveredFile } from '../delivery/delivery.js';
import { isBeyondEarth } from '../delivery/largest-coordinate.js';
import type { Route, RouteLine, StationNotation } from '../delivery/route.js';
import { readTextFile } from '../delivery/text-file.js';
import { Fault } from '../fault.js';
import type { StationStyle } from '../geometry/stationing.js';
import { type FileLine, type RouteFile, shapeFault } from './file-line.js';
import { linesOfGeoJson } from './geojson-lines.js';
import { linesOfLandXml } from './landxml.js';
import { refuseFarRoute } from './near-cloud.js';
import { linesOfTable } from './station-table.js';

/** What a route is read with. */
export interface RouteOptions {
  /** Metres per unit of the horizontal coordinates of the cloud. */
  metresPerUnit: number;
  /** EPSG code of the cloud's horizontal system, such as "EPSG:25832"; null: not known. */
  system: string | null;
  /** Notation of stations; null: 3+250 for a cloud in metres, 41+57.95 for one in feet. */
  notation: StationNotation | null;
  /** The clouds; a route far from all of them is refused. */
  files: readonly DeliveredFile[];
}

/**
 * Reads the planned route: LandXML 1.2, GeoJSON lines or a table of stations (CSV), whichever the text is. The lines are returned in
 * metres, in the system of the cloud.
 * @throws Fault of the reader of the format; `route-empty`, `route-shape`, `route-system`, `route-far`, `degrees`
 */
export async function readRoute(path: string, options: RouteOptions): Promise<Route> {
  return parseRoute(await readTextFile(path, 'route file'), path, options);
}

/** As readRoute, for a text; `where` names it in messages. */
export function parseRoute(text: string, where: string, options: RouteOptions): Route {
  const { metresPerUnit: cloudUnit, files } = options;
  const style = styleOf(options.notation, cloudUnit);
  const file = linesOf(text, where, style, cloudUnit);
  if (file.lines.length === 0) {
    const advice = 'Give at least one line of two vertices';
    throw new Fault({ code: 'route-empty', what: 'the file holds no line of a route', where, advice });
  }
  refuseOtherSystem(file.system, options.system, where);
  const factor = file.metresPerUnit ?? cloudUnit;
  refuseSameNames(file.lines, where);
  const lines = file.lines.map((line) => inMetres(line, factor));
  refuseDegrees(
    file.lines.flatMap(({ x }) => x),
    file.lines.flatMap(({ y }) => y),
    where,
  );
  const far = refuseFarRoute(lines, files, where);
  const { notation, metresPerUnit } = style.notation === '41+57.95' ? styleOf(style.notation, factor) : style;
  return { lines, notation, metresPerUnit, notes: [...file.notes, ...far] };
}

function linesOf(text: string, where: string, style: StationStyle, metresPerUnit: number): RouteFile {
  const begin = text.replace(/^\ufeff/, '').trimStart()[0];
  if (begin === undefined) throw new Fault({ code: 'route-empty', what: 'the file is empty', where });
  if (begin === '<') return linesOfLandXml(text, where, metresPerUnit);
  if (begin === '{' || begin === '[') return linesOfGeoJson(text, where, style, metresPerUnit);
  return linesOfTable(text, where, style, metresPerUnit);
}

/** Feet of the file for 41+57.95, international ones where the file is in metres. */
function styleOf(notation: StationNotation | null, metresPerUnit: number): StationStyle {
  const isFoot = Math.abs(metresPerUnit - 0.3048) < 1e-5;
  const used = notation ?? (isFoot ? '41+57.95' : '3+250');
  return { notation: used, metresPerUnit: used === '41+57.95' ? (isFoot ? metresPerUnit : 0.3048) : 1 };
}

function inMetres(line: FileLine, factor: number): RouteLine {
  const { name, where, startStation, equations, direction, lanes, plannedPasses } = line;
  if (line.x.length < 2) {
    throw shapeFault('a line needs two different vertices', where, { found: `${line.x.length}` });
  }
  const metres = (values: readonly number[]) => Float64Array.from(values, (value) => value * factor);
  const [x, y] = [metres(line.x), metres(line.y)];
  if (x.some(isBeyondEarth) || y.some(isBeyondEarth))
    throw shapeFault('a vertex is beyond any place on Earth', where, {
      advice: 'Correct the coordinates or the unit of the file',
    });
  return {
    name,
    x,
    y,
    distance: metres(line.distance),
    startStation: startStation * factor,
    equations: equations.map(({ internal, back, ahead, increasing }) => ({
      internal: internal * factor,
      back: back * factor,
      ahead: ahead * factor,
      increasing,
    })),
    direction,
    lanes,
    plannedPasses,
  };
}

/** Stations and findings name their line, so that two lines of one name could not be told apart. */
function refuseSameNames(lines: readonly FileLine[], where: string): void {
  const names = lines.map(({ name }) => name);
  const twice = names.find((name, i) => names.indexOf(name) !== i);
  if (twice === undefined) return;
  throw shapeFault('two lines of the route have the same name', where, {
    found: twice,
    advice: 'Give each line a name of its own',
  });
}

function refuseOtherSystem(stated: string | null, cloud: string | null, where: string): void {
  const own = stated?.split('+')[0] ?? null;
  if (own === null || cloud === null || !/^EPSG:\d+$/.test(own) || own === cloud) return;
  throw new Fault({
    code: 'route-system',
    what: 'the route is in another coordinate system than the cloud',
    where,
    found: own,
    expected: cloud,
    advice: 'Transform the route to the system of the cloud',
  });
}

import { Fault } from '../fault.js';
import { refuseDegrees } from './degrees.js';
import { isBeyondEarth } from './largest-coordinate.js';
import { type Feature, featuresOf, position } from './read-geojson.js';
import { statedCrs } from './stated-crs.js';
import { readTextFile } from './text-file.js';

/** A named area: one or more polygons, each an outer ring and holes; closed rings as flat x, y, x, y ... in metres. */
export interface Zone {
  name: string;
  polygons: { outer: Float64Array; holes: Float64Array[] }[];
}

/** Unit and coordinate system for reading zones. */
export interface ZoneOptions {
  /** Metres per unit of the coordinates; 1 when left out. */
  metresPerUnit?: number;
  /** EPSG code of the cloud's horizontal system, such as "EPSG:25832"; null or left out: not known. */
  system?: string | null;
}

/**
 * The zone of that name.
 * @throws Fault `zone-unknown` when the delivery has no zone of that name; it lists the names there are
 */
export function zoneByName({ zones }: { zones: readonly Zone[] }, name: string): Zone {
  const zone = zones.find((one) => one.name === name);
  if (zone) return zone;
  throw new Fault({
    code: 'zone-unknown',
    where: 'zones',
    what: `there is no zone called ${name}`,
    found: zones.map((one) => one.name).join(', ') || 'no zones',
    advice: 'Correct the name in the spec, or give the zones file with --zones',
  });
}

/** Words for the areas of a file in messages, and the properties that can name one, in order of preference, in any case. */
export interface AreaNaming {
  noun: string;
  keys: readonly string[];
  /** What the name is for. */
  use: string;
  /** Name of the file in messages. */
  file: string;
}

const ZONES: AreaNaming = {
  noun: 'zone',
  keys: ['name', 'zone', 'id'],
  use: 'requirements refer to it as "zone"',
  file: 'zones file',
};

/**
 * Reads zones from GeoJSON: Polygon or MultiPolygon features that have a name. RFC 7946 requires longitude and latitude,
 * but surveyors exchange projected coordinates in GeoJSON; coordinates are read as coordinates of the cloud. Heights are
 * ignored, open rings are closed, and features of the same name are one zone. The order is that of the file.
 *
 * @throws Fault `file-missing`, `file-unreadable`, `json-syntax`, `geojson-shape`, `zones-empty`, `zone-name`,
 * `zone-shape`, `zones-system`, `degrees`
 */
export async function readZones(path: string, options: ZoneOptions = {}): Promise<Zone[]> {
  return parseZones(await readTextFile(path, ZONES.file), path, options);
}

/** As readZones, for a text; `where` names it in messages. */
export function parseZones(text: string, where: string, options: ZoneOptions = {}): Zone[] {
  const zones = new Map<string, Zone>();
  for (const { name, polygons } of namedAreas(text, where, options, ZONES)) {
    const known = zones.get(name);
    if (known) for (const polygon of polygons) known.polygons.push(polygon);
    else zones.set(name, { name, polygons });
  }
  return [...zones.values()];
}

/** The features of a GeoJSON text as separate areas, in the order of the file. Throws the faults of readZones. */
export function namedAreas(
  text: string,
  where: string,
  options: ZoneOptions,
  naming: AreaNaming,
): (Zone & { place: string })[] {
  const features = featuresOf(text, where);
  refuseOtherSystem(statedCrs(text), options.system ?? null, naming, where);
  if (features.length === 0) {
    const advice = `Give at least one Polygon feature with a property "${naming.keys[0]}"`;
    throw new Fault({ code: `${naming.noun}s-empty`, what: `the file holds no ${naming.noun}`, where, advice });
  }
  const list = features.map((feature) => {
    const place = `${where}, ${feature.place}`;
    const name = nameOf(feature, place, naming);
    return { name, place, polygons: polygonsOf(feature, `${place} (${name})`, naming) };
  });
  refuseZonesInDegrees(list, where);
  const metres = options.metresPerUnit ?? 1;
  for (const zone of list) {
    for (const ring of ringsOf(zone)) {
      ring.forEach((value, i) => {
        ring[i] = value * metres;
        if (!isBeyondEarth(ring[i])) return;
        throw shapeFault('a corner lies beyond any place on Earth', `${where} (${zone.name})`, String(value));
      });
    }
  }
  return list;
}

function nameOf(feature: Feature, where: string, { noun, keys, use }: AreaNaming): string {
  for (const key of keys) {
    const property = Object.keys(feature.properties).find((title) => title.trim().toLowerCase() === key);
    const value = property === undefined ? null : feature.properties[property];
    const name = typeof value === 'string' || typeof value === 'number' ? String(value).trim() : '';
    if (name !== '') return name;
  }
  if (feature.id !== null && String(feature.id).trim() !== '') return String(feature.id).trim();
  throw new Fault({
    code: `${noun}-name`,
    what: `the ${noun} has no name`,
    where,
    found: `properties ${Object.keys(feature.properties).join(', ') || 'none'}`,
    advice: `Give it a property "${keys[0]}"; ${use}`,
  });
}

function polygonsOf(feature: Feature, where: string, { noun }: AreaNaming): Zone['polygons'] {
  const list =
    feature.type === 'Polygon' ? [feature.coordinates] : feature.type === 'MultiPolygon' ? feature.coordinates : null;
  if (!Array.isArray(list) || list.length === 0) {
    throw new Fault({
      code: 'zone-shape',
      what: `a ${noun} must be a Polygon or MultiPolygon`,
      where,
      found: feature.type ?? 'no geometry',
      advice: 'Close lines to polygons before export',
    });
  }
  return list.map((polygon, index) => {
    const here = list.length > 1 ? `${where}, polygon ${index + 1}` : where;
    if (!Array.isArray(polygon) || polygon.length === 0) throw shapeFault('the polygon has no ring', here);
    const [outer, ...holes] = polygon.map((ring, i) => ringOf(ring, i === 0 ? here : `${here}, hole ${i}`));
    return { outer, holes };
  });
}

function ringOf(ring: unknown, where: string): Float64Array {
  if (!Array.isArray(ring)) throw shapeFault('a ring must be a list of positions', where);
  const flat: number[] = [];
  ring.forEach((item, index) => {
    const point = position(item);
    if (!point) throw shapeFault(`position ${index + 1} is not a pair of numbers`, where, JSON.stringify(item));
    flat.push(point[0], point[1]);
  });
  const last = flat.length - 2;
  if (last >= 2 && (flat[0] !== flat[last] || flat[1] !== flat[last + 1])) flat.push(flat[0], flat[1]);
  if (flat.length < 8) throw shapeFault('a ring needs at least three corners', where, `${ring.length} positions`);
  const closed = Float64Array.from(flat);
  if (doubleArea(closed) === 0) throw shapeFault('the ring encloses no area', where);
  return closed;
}

/** Twice the area by the shoelace formula, relative to the first corner so that large coordinates lose no digits. */
function doubleArea(ring: Float64Array): number {
  let sum = 0;
  for (let i = 2; i + 3 < ring.length; i += 2) {
    sum += (ring[i] - ring[0]) * (ring[i + 3] - ring[1]) - (ring[i + 2] - ring[0]) * (ring[i + 1] - ring[1]);
  }
  return sum;
}

function ringsOf(zone: Zone): Float64Array[] {
  return zone.polygons.flatMap(({ outer, holes }) => [outer, ...holes]);
}

/** Refuses areas in another projection, which would be in the wrong location without notice. */
function refuseOtherSystem(stated: string | null, cloud: string | null, naming: AreaNaming, where: string): void {
  const plan = stated?.split('+')[0] ?? null;
  if (plan === null || cloud === null || !/^EPSG:\d+$/.test(plan) || plan === cloud) return;
  throw new Fault({
    code: `${naming.noun}s-system`,
    what: `the ${naming.noun}s are in another coordinate system than the cloud`,
    where,
    found: plan,
    expected: cloud,
    advice: `Transform the ${naming.noun}s to the system of the cloud`,
  });
}

function refuseZonesInDegrees(zones: readonly Zone[], where: string): void {
  const xs: number[] = [];
  const ys: number[] = [];
  for (const ring of zones.flatMap(ringsOf)) {
    for (let i = 0; i < ring.length; i += 2) {
      xs.push(ring[i]);
      ys.push(ring[i + 1]);
    }
  }
  refuseDegrees(xs, ys, where);
}

function shapeFault(what: string, where: string, found?: string): Fault {
  return new Fault({ code: 'zone-shape', what, where, found });
}

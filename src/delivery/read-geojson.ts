import { Fault } from '../fault.js';
import { parseJson } from '../spec/json-text.js';
import { DEGREES_ADVICE } from './degrees.js';

/** A GeoJSON feature with a valid structure; geometry and properties are not checked yet. */
export interface Feature {
  /** "feature 3", counted from 1. */
  place: string;
  id: string | number | null;
  properties: Readonly<Record<string, unknown>>;
  /** Type of the geometry, null when it has none. */
  type: string | null;
  coordinates: unknown;
}

/**
 * The features of a GeoJSON text (RFC 7946 section 3): a FeatureCollection, or one Feature. Coordinates are taken as
 * projected. The `crs` member of the 2008 edition is read only to refuse longitude and latitude.
 *
 * @throws Fault `json-syntax`, `geojson-shape`, `degrees`
 */
export function featuresOf(text: string, where: string): Feature[] {
  const root = parseJson(text, where).value;
  if (!isObject(root)) throw shape('this is not GeoJSON: an object with "type" is expected', where);
  refuseDegrees(root, where);
  if (root.type === 'Feature') return [feature(root, 'feature 1', where)];
  if (root.type !== 'FeatureCollection' || !Array.isArray(root.features)) {
    throw shape('this is not a GeoJSON FeatureCollection', where, describe(root.type));
  }
  return root.features.map((item, index) => feature(item, `feature ${index + 1}`, where));
}

/** A position of at least two finite numbers (RFC 7946 section 3.1.1; more than three are ignored); null for anything else. */
export function position(value: unknown): readonly number[] | null {
  if (!Array.isArray(value) || value.length < 2) return null;
  const numbers = value.slice(0, 3);
  return numbers.every((number) => typeof number === 'number' && Number.isFinite(number)) ? numbers : null;
}

function feature(value: unknown, place: string, where: string): Feature {
  if (!isObject(value) || value.type !== 'Feature') throw shape('this is not a GeoJSON feature', `${where}, ${place}`);
  const geometry = isObject(value.geometry) ? value.geometry : null;
  return {
    place,
    id: typeof value.id === 'string' || typeof value.id === 'number' ? value.id : null,
    properties: isObject(value.properties) ? value.properties : {},
    type: typeof geometry?.type === 'string' ? geometry.type : null,
    coordinates: geometry?.coordinates ?? null,
  };
}

function refuseDegrees(root: Record<string, unknown>, where: string): void {
  const crs = isObject(root.crs) && isObject(root.crs.properties) ? root.crs.properties.name : null;
  if (typeof crs !== 'string') return;
  // CRS84 and EPSG 4326 are WGS 84, EPSG 4258 is ETRS89, EPSG 4979 WGS 84 in 3D: all longitude and latitude.
  if (/CRS84|EPSG:(.*:)?(4326|4258|4979|4269)$/i.test(crs.trim())) {
    throw new Fault({
      code: 'degrees',
      what: 'the file says that its coordinates are longitude and latitude',
      where,
      found: crs,
      advice: DEGREES_ADVICE,
    });
  }
}

function shape(what: string, where: string, found?: string): Fault {
  return new Fault({ code: 'geojson-shape', what, where, found });
}

function describe(value: unknown): string {
  return value === undefined ? 'no "type"' : `type ${JSON.stringify(value)}`;
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

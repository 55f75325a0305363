import type { CrsParts } from './crs-wkt.js';
import type { CrsRule } from './format-issue.js';
import { decodeText } from './text.js';
import { DEGREE, type Unit, unitByEpsg, unitByFactor } from './units.js';

/** A value of a GeoTIFF key. */
type GeoKey = number | number[] | string;

/** What is wrong with a directory, and where in it. */
interface GeoProblem {
  rule: CrsRule;
  at: number;
  found: string | number;
  expected: string | number;
  text: string;
}

/** Keys of a GeoKeyDirectory, and what is wrong with it. */
export interface GeoKeys {
  keys: Map<number, GeoKey>;
  problems: GeoProblem[];
}

/** Key numbers: GeoTIFF specification 1.0, section 6.2 (OGC 19-008 keeps them). */
const Key = {
  modelType: 1024,
  citation: 1026,
  geographicType: 2048,
  geographicCitation: 2049,
  projectedType: 3072,
  projectedCitation: 3073,
  projectedLinearUnit: 3076,
  projectedLinearUnitSize: 3077,
  verticalType: 4096,
  verticalCitation: 4097,
  verticalUnit: 4099,
} as const;

const USER_DEFINED = 32767;
const DOUBLES = 34736;
const ASCII = 34737;

/**
 * Reads the GeoKeyDirectory (record 34735) with its doubles (34736) and texts (34737). Keys that point outside are left
 * out and listed.
 */
export function readGeoKeys(directory: Uint8Array, doubles: Uint8Array, ascii: Uint8Array): GeoKeys {
  const keys = new Map<number, GeoKey>();
  const problems: GeoProblem[] = [];
  const add = (rule: CrsRule, at: number, found: string | number, expected: string | number, text: string) =>
    problems.push({ rule, at, found, expected, text });
  const view = new DataView(directory.buffer, directory.byteOffset, directory.byteLength);
  if (directory.length < 8) {
    const text = `the GeoTIFF directory has ${directory.length} bytes, it needs at least 8`;
    add('geotiff-length', 0, directory.length, 'at least 8', text);
    return { keys, problems };
  }
  const [version, revision] = [view.getUint16(0, true), view.getUint16(2, true)];
  if (version !== 1 || revision !== 1) {
    const text = `the GeoTIFF directory starts with ${version}, ${revision} instead of 1, 1`;
    add('geotiff-version', 0, `${version}, ${revision}`, '1, 1', text);
  }
  const stated = view.getUint16(6, true);
  const count = Math.min(stated, Math.floor((directory.length - 8) / 8));
  if (count < stated) {
    add('geotiff-count', 6, stated, count, `the GeoTIFF directory announces ${stated} keys and has room for ${count}`);
  }
  const numbers = new DataView(doubles.buffer, doubles.byteOffset, doubles.byteLength);
  let last = -1;
  for (let i = 0; i < count; i++) {
    const [key, place, n, value] = [0, 2, 4, 6].map((d) => view.getUint16(8 + 8 * i + d, true));
    if (key < last) {
      const text = `GeoTIFF key ${key} stands behind key ${last}, keys must ascend`;
      add('geotiff-order', 8 + 8 * i, key, `more than ${last}`, text);
    }
    last = key;
    if (place === 0) {
      keys.set(key, value);
    } else if (place === DOUBLES && (value + n) * 8 <= doubles.length) {
      const list = Array.from({ length: n }, (_, k) => numbers.getFloat64((value + k) * 8, true));
      keys.set(key, n === 1 ? list[0] : list);
    } else if (place === ASCII && value + n <= ascii.length) {
      keys.set(
        key,
        decodeText(ascii.subarray(value, value + n))
          .replace(/[|\0]+$/, '')
          .trim(),
      );
    } else {
      const text = `GeoTIFF key ${key} refers to record ${place}, which has no such value`;
      add('geotiff-reference', 8 + 8 * i + 2, `record ${place}, place ${value}`, 'a value that is there', text);
    }
  }
  return { keys, problems };
}

/** Takes the system described by GeoTIFF keys apart. */
export function crsFromGeoKeys({ keys, problems: found }: GeoKeys): CrsParts {
  // Keys out of order are odd, but nothing is lost by it.
  const problems = found.filter((p) => p.rule !== 'geotiff-order').map((p) => p.text);
  const parts: CrsParts = { horizontal: null, vertical: null, compoundEpsg: null, horizontalWkt: null, problems };
  const number = (key: number) => {
    const value = keys.get(key);
    return typeof value === 'number' ? value : null;
  };
  const text = (...list: number[]) => {
    for (const key of list) {
      const value = keys.get(key);
      if (typeof value === 'string' && value !== '') return value;
    }
    return null;
  };
  const code = (key: number) => {
    const value = number(key);
    return value !== null && value > 0 && value !== USER_DEFINED ? value : null;
  };

  const projected = number(Key.projectedType);
  const geographic = number(Key.geographicType);
  const model = number(Key.modelType);
  if (model === 1 || (model !== 2 && projected !== null)) {
    const epsg = code(Key.projectedType);
    const name = text(Key.projectedCitation, Key.citation) ?? (epsg === null ? 'user-defined' : `EPSG:${epsg}`);
    parts.horizontal = { name, epsg, unit: projectedUnit(number, problems), geographic: false };
  } else if (model === 2 || geographic !== null) {
    const epsg = code(Key.geographicType);
    const name = text(Key.geographicCitation, Key.citation) ?? (epsg === null ? 'user-defined' : `EPSG:${epsg}`);
    parts.horizontal = { name, epsg, unit: DEGREE, geographic: true };
  } else if (model === 3) {
    problems.push('the coordinate system is geocentric, which has no horizontal and vertical part');
  } else if (problems.length === 0) {
    problems.push('the GeoTIFF keys name no horizontal system');
  }

  const unitCode = number(Key.verticalUnit);
  if (keys.has(Key.verticalType) || keys.has(Key.verticalCitation) || unitCode !== null) {
    const epsg = code(Key.verticalType);
    const unit = unitCode === null ? null : unitByEpsg(unitCode);
    if (unitCode !== null && !unit) problems.push(`the vertical unit code ${unitCode} is not known`);
    // Keys that give a unit only say nothing about the system itself.
    const name = text(Key.verticalCitation) ?? (epsg === null ? '' : `EPSG:${epsg}`);
    parts.vertical = { name, epsg, unit };
  }
  return parts;
}

function projectedUnit(number: (key: number) => number | null, problems: string[]): Unit | null {
  const code = number(Key.projectedLinearUnit);
  const size = number(Key.projectedLinearUnitSize);
  if (code !== null && code !== USER_DEFINED && code !== 0) {
    const unit = unitByEpsg(code);
    if (unit) return unit;
    problems.push(`the linear unit code ${code} is not known`);
  }
  return size !== null && size > 0 ? unitByFactor('user-defined', size) : null;
}

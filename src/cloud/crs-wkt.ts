import { DEGREE, METRE, sameUnit, type Unit, unitByEpsg, unitByFactor } from './units.js';
import { child, nameOf, parseWkt, type WktNode } from './wkt.js';

/** One part of a coordinate reference system, as read. */
export interface CrsPart {
  name: string;
  epsg: number | null;
  unit: Unit | null;
}

/** A system taken apart. */
export interface CrsParts {
  horizontal: (CrsPart & { geographic: boolean }) | null;
  vertical: CrsPart | null;
  /** EPSG code of the whole compound system, when it has one. */
  compoundEpsg: number | null;
  /** The text of the horizontal node alone. */
  horizontalWkt: string | null;
  problems: string[];
}

const COMPOUND = ['COMPD_CS', 'COMPOUNDCRS'];
const PROJECTED = ['PROJCS', 'PROJCRS', 'PROJECTEDCRS'];
const GEOGRAPHIC = ['GEOGCS', 'GEOGCRS', 'GEOGRAPHICCRS', 'GEODCRS', 'GEODETICCRS'];
const LOCAL = ['LOCAL_CS', 'ENGCRS', 'ENGINEERINGCRS'];
const VERTICAL = ['VERT_CS', 'VERTCS', 'VERTCRS', 'VERTICALCRS'];
const UNITS = ['UNIT', 'LENGTHUNIT', 'ANGLEUNIT'];

/** Reads a WKT 1 or WKT 2 text. Never throws: what cannot be read is listed as a problem. */
export function crsFromWkt(text: string): CrsParts {
  const parts: CrsParts = { horizontal: null, vertical: null, compoundEpsg: null, horizontalWkt: null, problems: [] };
  let root: WktNode;
  try {
    root = unwrap(parseWkt(text));
  } catch (error) {
    parts.problems.push(`the coordinate system text cannot be read: ${(error as Error).message}`);
    return parts;
  }
  if (COMPOUND.includes(root.keyword)) {
    parts.compoundEpsg = epsgOf(root);
    for (const node of root.children.map(unwrap)) take(node, text, parts);
  } else {
    take(root, text, parts);
  }
  if (!parts.horizontal && parts.problems.length === 0) {
    parts.problems.push(`the coordinate system text (${root.keyword}) has no horizontal system`);
  }
  return parts;
}

/** A bound system is its source system with a hint how to transform it. */
function unwrap(node: WktNode): WktNode {
  if (node.keyword !== 'BOUNDCRS') return node;
  const source = child(node, 'SOURCECRS')?.children[0];
  return source ? unwrap(source) : node;
}

function take(node: WktNode, text: string, parts: CrsParts): void {
  const { keyword } = node;
  const horizontal = PROJECTED.includes(keyword) || GEOGRAPHIC.includes(keyword) || LOCAL.includes(keyword);
  if (horizontal && !parts.horizontal) {
    const geographic = GEOGRAPHIC.includes(keyword);
    if (geographic && isGeocentric(node)) {
      parts.problems.push('the coordinate system is geocentric, which has no horizontal and vertical part');
      return;
    }
    const unit = geographic ? DEGREE : lengthUnit(node, parts.problems);
    parts.horizontal = { name: nameOf(node), epsg: epsgOf(node), unit, geographic };
    parts.horizontalWkt = text.slice(node.begin, node.end);
  } else if (VERTICAL.includes(keyword) && !parts.vertical) {
    parts.vertical = { name: nameOf(node), epsg: epsgOf(node), unit: lengthUnit(node, parts.problems) };
  } else if (keyword === 'GEOCCS') {
    parts.problems.push('the coordinate system is geocentric, which has no horizontal and vertical part');
  }
}

function isGeocentric(node: WktNode): boolean {
  return child(node, 'CS')?.values.some((v) => String(v).toLowerCase() === 'cartesian') ?? false;
}

/** The node's own code: AUTHORITY["EPSG","25832"] or ID["EPSG",25832], not those of its parts. */
function epsgOf(node: WktNode): number | null {
  for (const id of node.children) {
    if (id.keyword !== 'AUTHORITY' && id.keyword !== 'ID') continue;
    if (String(id.values[0]).toUpperCase() !== 'EPSG') continue;
    const code = Number(id.values[1]);
    if (Number.isInteger(code) && code > 0) return code;
  }
  return null;
}

/**
 * The unit of the node's axes: its own UNIT, or that of its first axis (WKT 2). The factor is what counts; a name or a
 * code that says otherwise is a problem.
 */
function lengthUnit(node: WktNode, problems: string[]): Unit | null {
  const unit =
    child(node, ...UNITS) ??
    node.children
      .filter((c) => c.keyword === 'AXIS')
      .map((axis) => child(axis, ...UNITS))
      .find(Boolean);
  if (!unit) return null;
  const name = nameOf(unit);
  const factor = unit.values.find((v) => typeof v === 'number');
  const code = epsgOf(unit);
  const coded = code === null ? null : unitByEpsg(code);
  if (typeof factor !== 'number' || !(factor > 0)) {
    const known = coded ?? unitByName(name);
    if (!known) problems.push(`the unit "${name}" of ${nameOf(node)} has no usable factor`);
    return known;
  }
  const read = unitByFactor(name, factor);
  const named = coded ?? unitByName(name);
  if (named && !sameUnit(read, named)) {
    problems.push(`the unit of ${nameOf(node)} is called "${name}" but its factor is ${factor}`);
  }
  return read;
}

function unitByName(name: string): Unit | null {
  const plain = name.toLowerCase().replace(/[^a-z]/g, '');
  if (/^met(re|er)s?$/.test(plain) || plain === 'm') return METRE;
  if (/us|survey/.test(plain) && /f(oo|ee)?t/.test(plain)) return unitByEpsg(9003);
  if (plain === 'internationalfoot' || plain === 'footinternational' || plain === 'intlfoot') return unitByEpsg(9002);
  return null;
}

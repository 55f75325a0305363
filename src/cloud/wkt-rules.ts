import type { ReportIssue } from './format-issue.js';
import { decodeText, isUtf8 } from './text.js';
import type { Vlr } from './vlr.js';
import { nameOf, parseWkt, type WktNode } from './wkt.js';

/** Keywords of WKT 1 (OGC 01-009, section 7) that a coordinate system can begin with. */
const WKT1_ROOTS = ['PROJCS', 'GEOGCS', 'GEOCCS', 'COMPD_CS', 'VERT_CS', 'LOCAL_CS', 'FITTED_CS'];
/** The same of WKT 2 (ISO 19162). */
const WKT2_ROOT = /CRS$|^COORDINATEMETADATA$/;

/** Nodes of which a strict text names the EPSG code, the compound system itself excepted. */
const CODED_NODES = ['PROJCS', 'GEOGCS', 'DATUM', 'SPHEROID', 'PRIMEM', 'UNIT', 'VERT_CS', 'VERT_DATUM'];

/** Numbers that a node may hold; more of them means a decimal comma. */
const NUMBERS: Readonly<Record<string, number>> = { UNIT: 1, LENGTHUNIT: 1, ANGLEUNIT: 1, PARAMETER: 1, SPHEROID: 2 };

/** The text of a WKT record: all before its first zero byte. */
export function textOfWkt(vlr: Vlr): string {
  const end = vlr.payload.indexOf(0);
  return decodeText(end < 0 ? vlr.payload : vlr.payload.subarray(0, end));
}

/**
 * Compares a WKT record (2112 coordinate system, 2111 math transform) with LAS specification 1.4 revision 16, "georeferencing
 * information using WKT", and 1.5, "coordinate reference system".
 */
export function inspectWkt(vlr: Vlr, versionMinor: number, add: ReportIssue): void {
  const at = vlr.payloadOffset;
  const name = vlr.recordId === 2111 ? 'math transform' : 'WKT';
  const end = vlr.payload.indexOf(0);
  if (end < 0)
    add('wkt-terminator', at, 'no terminator', 'a zero byte', `the ${name} text is not terminated by a zero byte`);
  if (!isUtf8(end < 0 ? vlr.payload : vlr.payload.subarray(0, end))) {
    add('wkt-utf8', at, 'other bytes', 'UTF-8', `the ${name} text is not UTF-8`);
  }
  const text = textOfWkt(vlr);
  if (text.trim() === '') {
    add('wkt-empty', at, 'nothing', 'a text', `the ${name} record is empty`);
    return;
  }
  let root: WktNode;
  try {
    root = parseWkt(text);
  } catch (error) {
    add('wkt-syntax', at, (error as Error).message, 'well-known text', `the ${name} text cannot be taken apart`);
    return;
  }
  const comma = nodesOf(root).find((n) => numbersIn(n) > (NUMBERS[n.keyword] ?? Number.POSITIVE_INFINITY));
  if (comma) {
    const found = text.slice(comma.begin, Math.min(comma.end, comma.begin + 60));
    add(
      'wkt-numbers',
      at + comma.begin,
      found,
      'a decimal point',
      `a number of the ${name} text is written with a comma`,
    );
  }
  if (vlr.recordId !== 2112) return;
  if (versionMinor <= 4 && WKT2_ROOT.test(root.keyword)) {
    const found = `WKT 2 (${root.keyword})`;
    add('wkt-version', at, found, 'WKT 1', 'LAS 1.4 means the well-known text of 2001 (WKT 1)');
  }
  const foreign = foreignWord(root);
  if (foreign !== null && versionMinor <= 4) {
    add(
      'wkt-dialect',
      at,
      foreign,
      'OGC WKT 1',
      'the WKT text is in a dialect of its own, which the specification does not mean',
    );
  }
}

/** A word of the dialect that LAS 1.4 excludes: datums called D_..., VERTCS and VDATUM nodes. */
function foreignWord(root: WktNode): string | null {
  if (!WKT1_ROOTS.includes(root.keyword) && root.keyword !== 'VERTCS') return null;
  for (const node of nodesOf(root)) {
    if (node.keyword === 'VERTCS' || node.keyword === 'VDATUM') return node.keyword;
    if (node.keyword === 'DATUM' && nameOf(node).startsWith('D_')) return nameOf(node);
  }
  return null;
}

/**
 * What the stricter convention of the USGS Lidar Base Specification (2025 rev. A, coordinate reference system of LAS files)
 * asks of a WKT record beyond the format's own rules. Nothing of this is wrong unless somebody asked for it.
 */
export function inspectStrictWkt(vlr: Vlr, add: ReportIssue): void {
  const text = textOfWkt(vlr);
  const at = vlr.payloadOffset;
  const blank = blankOutsideQuotes(text);
  if (blank >= 0) {
    add(
      'usgs-wkt-blanks',
      at + blank,
      'a blank or control character',
      'none',
      'the WKT text has blanks between its words',
    );
  }
  let root: WktNode;
  try {
    root = parseWkt(text);
  } catch {
    // Said by the format's own rule.
    return;
  }
  if (!WKT1_ROOTS.includes(root.keyword)) {
    add('usgs-wkt-version', at, root.keyword, 'WKT 1', 'the coordinate system is not written in WKT 1');
    return;
  }
  const vertical = root.children.find((n) => n.keyword === 'VERT_CS');
  if (root.keyword !== 'COMPD_CS' || !vertical) {
    const text = 'the coordinate system is not a compound of a horizontal and a vertical one';
    add('usgs-wkt-compound', at, root.keyword, 'COMPD_CS with VERT_CS', text);
  } else if (!/geoid/i.test(nameOf(vertical))) {
    const text = 'the name of the vertical system does not name the geoid model';
    add('usgs-wkt-geoid', at + vertical.begin, nameOf(vertical), 'a name such as "... - Geoid18"', text);
  }
  const nodes = nodesOf(root);
  const extra = nodes.find((n) => n.keyword === 'EXTENSION' || n.keyword === 'GEOID_MODEL');
  if (extra) add('usgs-wkt-nodes', at + extra.begin, extra.keyword, 'none', `the WKT text has a node ${extra.keyword}`);
  const bare = nodes.filter(
    (n) => CODED_NODES.includes(n.keyword) && !n.children.some((c) => c.keyword === 'AUTHORITY'),
  );
  if (bare.length > 0) {
    const names = [...new Set(bare.map((n) => n.keyword))].join(', ');
    add('usgs-wkt-authority', at + bare[0].begin, names, 'an EPSG code', 'parts of the WKT text name no EPSG code');
  }
}

function nodesOf(root: WktNode): WktNode[] {
  return [root, ...root.children.flatMap(nodesOf)];
}

function numbersIn(node: WktNode): number {
  return node.values.filter((v) => typeof v === 'number').length;
}

/** Place of the first blank outside quotes, or of the first control character anywhere; -1 without one. */
function blankOutsideQuotes(text: string): number {
  let quoted = false;
  for (let i = 0; i < text.length; i++) {
    const c = text.charCodeAt(i);
    if (c === 34) quoted = !quoted;
    else if (c < 32 || (c === 32 && !quoted)) return i;
  }
  return -1;
}

import { crsFromGeoKeys, readGeoKeys } from './crs-geotiff.js';
import { type CrsPart, type CrsParts, crsFromWkt } from './crs-wkt.js';
import { unitOfSystem } from './epsg-units.js';
import { collectFormatIssues, type ReportIssue } from './format-issue.js';
import { Encoding, type FormatIssue, type Header } from './header.js';
import { METRE, sameUnit, type Unit } from './units.js';
import { isRecord, type Vlr } from './vlr.js';
import { inspectStrictWkt, inspectWkt, textOfWkt } from './wkt-rules.js';

export type { Unit } from './units.js';

/** The coordinate reference system a cloud states. */
export interface Crs {
  /** known: a horizontal system was read; absent: there is no record; unreadable: there are records, but none can be read. */
  state: 'known' | 'absent' | 'unreadable';
  horizontal: { name: string; epsg: number | null; unit: Unit; geographic: boolean } | null;
  /** Its unit: as stated, else that of its EPSG code, else the horizontal one. `name` is '' where only a unit is stated. */
  vertical: { name: string; epsg: number | null; unit: Unit } | null;
  /** EPSG code of the compound system as a whole, when the record has one. */
  compoundEpsg: number | null;
  source: 'wkt' | 'geotiff' | null;
  /** The WKT text, as stored. */
  wkt: string | null;
  /** Contradictions and unreadable parts, one sentence each. */
  problems: string[];
  /** Violations of a stricter convention for WKT than the format's own rules (USGS); not violations of LAS. */
  strictWkt: FormatIssue[];
}

const PROJECTION = 'LASF_Projection';
const MATH_TRANSFORM = 2111;
const WKT = 2112;
const GEO_KEYS = 34735;
const GEO_DOUBLES = 34736;
const GEO_ASCII = 34737;

/** The unit of heights: the vertical system's, else the horizontal one if that is a length; null if neither is known. */
export function heightUnit(crs: Crs): Unit | null {
  if (crs.vertical) return Number.isFinite(crs.vertical.unit.metres) ? crs.vertical.unit : null;
  const unit = crs.horizontal?.unit ?? null;
  return unit && Number.isFinite(unit.metres) ? unit : null;
}

/** The WKT of the projected or geographic node alone, which projection libraries understand; null without WKT. */
export function horizontalWkt(crs: Crs): string | null {
  return crs.wkt === null ? null : crsFromWkt(crs.wkt).horizontalWkt;
}

/** The system read from a WKT text alone (a spec's, a side file's). */
export function crsOfWkt(text: string): Crs {
  return assemble(crsFromWkt(text), 'wkt', text, []);
}

/** Reads the system from a cloud's records: WKT or GeoTIFF keys, whichever the header says, else whichever is there. */
export function readCrs(vlrs: readonly Vlr[], header: Header): { crs: Crs; formatIssues: FormatIssue[] } {
  const { formatIssues, add } = collectFormatIssues();
  const all = (id: number) => vlrs.filter((v) => isRecord(v, PROJECTION, id));
  inspectCrsRecords(header, all, add);
  const wktRecord = all(WKT)[0] ?? null;
  const keyRecord = all(GEO_KEYS)[0] ?? null;
  for (const vlr of [...all(MATH_TRANSFORM), ...all(WKT).slice(0, 1)]) inspectWkt(vlr, header.versionMinor, add);
  if (!wktRecord && !keyRecord) return { crs: assemble(null, null, null, []), formatIssues };

  const text = wktRecord ? textOfWkt(wktRecord) : null;
  const fromWkt = text === null ? null : crsFromWkt(text);
  const fromKeys = keyRecord ? geoParts(keyRecord, all(GEO_DOUBLES)[0], all(GEO_ASCII)[0], add) : null;
  const problems = fromWkt && fromKeys ? conflicts(fromWkt, fromKeys) : [];
  // The record that the header announces comes first; the other one is used only if the first cannot be read.
  const wktFirst = wantsWkt(header) ? fromWkt !== null : fromKeys === null;
  const chosenWkt = wktFirst
    ? fromWkt?.horizontal != null || fromKeys?.horizontal == null
    : fromKeys?.horizontal == null && fromWkt?.horizontal != null;
  const crs = chosenWkt ? assemble(fromWkt, 'wkt', text, problems) : assemble(fromKeys, 'geotiff', null, problems);
  if (wktRecord) {
    const strict = collectFormatIssues();
    inspectStrictWkt(wktRecord, strict.add);
    crs.strictWkt = strict.formatIssues;
  }
  return { crs, formatIssues };
}

function wantsWkt(header: Header): boolean {
  return header.versionMinor >= 4 && (header.globalEncoding & Encoding.wkt) !== 0;
}

/** Reports records that differ from what the header announces. */
function inspectCrsRecords(header: Header, all: (id: number) => Vlr[], add: ReportIssue): void {
  const [wkt, keys] = [all(WKT), all(GEO_KEYS)];
  for (const [records, name] of [
    [wkt, 'WKT'],
    [keys, 'GeoTIFF directory'],
  ] as const) {
    if (records.length > 1)
      add('crs-record-repeated', records[1].offset, records.length, 1, `more than one ${name} record`);
  }
  const lost = [...all(GEO_DOUBLES), ...all(GEO_ASCII)][0];
  if (lost && keys.length === 0) {
    const text = 'GeoTIFF values are there without the directory that refers to them';
    add('geotiff-lost', lost.offset, lost.recordId, `a record ${GEO_KEYS}`, text);
  }
  if (wkt.length === 0 && keys.length === 0) {
    add('crs-missing', 100, 'no record', 'WKT or GeoTIFF keys', 'no coordinate system is recorded');
    return;
  }
  if (wkt.length > 0 && keys.length > 0) {
    add('crs-records-both', wkt[0].offset, 'WKT and GeoTIFF', 'one of them', 'the coordinate system is stated twice');
  }
  // Formats 6 to 10 need WKT whatever the bit says; that the bit is missing is a rule of its own.
  const wants = wantsWkt(header) || header.pointFormat >= 6;
  if (wants ? wkt.length === 0 : keys.length === 0) {
    const [expected, found] = wants ? ['WKT', 'GeoTIFF'] : ['GeoTIFF', 'WKT'];
    const text = `the header asks for a coordinate system as ${expected}, the record holds ${found}`;
    add('crs-record-kind', 6, `a ${found} record`, `a ${expected} record`, text);
  }
  if (wantsWkt(header) && header.pointFormat <= 5 && header.legacyPointCount > 0) {
    const text = 'legacy counts promise that older readers can read the file, but they cannot read its WKT';
    add('crs-legacy', 6, 'bit 4 set', 'bit 4 clear, GeoTIFF keys', text);
  }
}

function geoParts(directory: Vlr, doubles: Vlr | undefined, ascii: Vlr | undefined, add: ReportIssue): CrsParts {
  const none = new Uint8Array(0);
  const read = readGeoKeys(directory.payload, doubles?.payload ?? none, ascii?.payload ?? none);
  for (const { rule, at, found, expected, text } of read.problems) {
    add(rule, directory.payloadOffset + at, found, expected, text);
  }
  return crsFromGeoKeys(read);
}

function conflicts(a: CrsParts, b: CrsParts): string[] {
  const problems: string[] = [];
  for (const part of ['horizontal', 'vertical'] as const) {
    const [x, y] = [a[part], b[part]];
    if (!x || !y) continue;
    if (x.epsg !== null && y.epsg !== null && x.epsg !== y.epsg) {
      problems.push(`the WKT record states the ${part} system EPSG:${x.epsg}, the GeoTIFF record EPSG:${y.epsg}`);
    }
    if (x.unit && y.unit && !sameUnit(x.unit, y.unit)) {
      problems.push(
        `the WKT record states ${part} coordinates in ${x.unit.name}, the GeoTIFF record in ${y.unit.name}`,
      );
    }
  }
  return problems;
}

/** The stated unit; without one that of the EPSG code. A statement that contradicts the code is a problem. */
function settle(part: CrsPart, kind: 'projected' | 'vertical', problems: string[]): Unit | null {
  const known = part.epsg === null ? null : unitOfSystem(part.epsg, kind);
  if (part.unit && known && Number.isFinite(part.unit.metres) && !sameUnit(part.unit, known)) {
    problems.push(`EPSG:${part.epsg} is in ${known.name}, but the record states ${part.unit.name}`);
  }
  return part.unit ?? known;
}

function assemble(parts: CrsParts | null, source: Crs['source'], wkt: string | null, more: string[]): Crs {
  const problems = [...(parts?.problems ?? []), ...more];
  const h = parts?.horizontal ?? null;
  const v = parts?.vertical ?? null;
  const plan = h && !h.geographic ? settle(h, 'projected', problems) : (h?.unit ?? null);
  if (h && !plan) problems.push(`the unit of ${h.name || 'the horizontal system'} is not stated; metre is assumed`);
  const unit = plan ?? METRE;
  // Heights over a geographic system are lengths; without a statement only metre makes sense.
  const heights = Number.isFinite(unit.metres) ? unit : METRE;
  return {
    state: h ? 'known' : parts ? 'unreadable' : 'absent',
    horizontal: h ? { name: h.name, epsg: h.epsg, unit, geographic: h.geographic } : null,
    vertical: v ? { name: v.name, epsg: v.epsg, unit: settle(v, 'vertical', problems) ?? heights } : null,
    compoundEpsg: parts?.compoundEpsg ?? null,
    source,
    wkt,
    problems,
    strictWkt: [],
  };
}

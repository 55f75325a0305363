import type { PointTally } from './point-record.js';
import { hasGpsTime, hasWaveform, RECORD_LENGTHS } from './point-record.js';
import type { HorizontalSystem, VerticalSystem } from './reference-systems.js';
import { geotiffKeys, wktText } from './reference-systems.js';

/** Major and minor version of LAS. */
type LasVersion = [1, 0 | 1 | 2 | 3 | 4 | 5];

/** Content of a variable length record. */
export interface VlrContent {
  userId: string;
  recordId: number;
  description?: string;
  data: Uint8Array;
}

/** One extra byte field of known type (LAS 1.4 R15, table 24): 1 u8, 2 i8, 3 u16, 4 i16, 5 u32, 6 i32, 9 f32, 10 f64. */
interface ExtraByteField {
  name: string;
  type: 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 | 9 | 10;
  description?: string;
}

const EXTRA_SIZES: readonly number[] = [0, 1, 1, 2, 2, 4, 4, 8, 8, 4, 8];

/** How the coordinate system is recorded. */
interface CrsRecord {
  as: 'wkt' | 'geotiff';
  horizontal: HorizontalSystem;
  vertical: VerticalSystem | null;
}

/** Options of the LAS writer. */
export interface LasOptions {
  version: LasVersion;
  format: number;
  scale: readonly [number, number, number];
  offset: readonly [number, number, number];
  crs: CrsRecord | null;
  generatingSoftware?: string;
  systemIdentifier?: string;
  fileSourceId?: number;
  /** Standard GPS time minus 1e9 (default), or seconds of the GPS week. */
  gpsTime?: 'standard' | 'week';
  extraBytes?: readonly ExtraByteField[];
  /** Further variable length records, after those of the coordinate system. */
  vlrs?: readonly VlrContent[];
  /** Extended records behind the points; LAS 1.4 and 1.5. */
  evlrs?: readonly VlrContent[];
  /** Header fields to falsify on purpose. */
  headerOverrides?: Partial<HeaderFields>;
  /** Lets combinations pass that no standard allows: they are refused otherwise. */
  unsound?: boolean;
}

/** The public header block, field by field, as it is about to be written. */
export interface HeaderFields {
  signature: string;
  fileSourceId: number;
  globalEncoding: number;
  versionMajor: number;
  versionMinor: number;
  systemIdentifier: string;
  generatingSoftware: string;
  creationDay: number;
  creationYear: number;
  headerSize: number;
  offsetToPoints: number;
  vlrCount: number;
  format: number;
  recordLength: number;
  legacyCount: number;
  legacyByReturn: readonly number[];
  scale: readonly [number, number, number];
  offset: readonly [number, number, number];
  min: readonly [number, number, number];
  max: readonly [number, number, number];
  waveformStart: number;
  evlrStart: number;
  evlrCount: number;
  count: number;
  byReturn: readonly number[];
  gpsMax: number;
  gpsMin: number;
  timeOffset: number;
}

/** Header sizes: 1.4 and 1.5 read in their texts, older ones from memory of theirs. */
const HEADER_SIZES = [227, 227, 227, 235, 375, 393];
const HIGHEST_FORMAT = [1, 1, 3, 5, 10, 10];
const UINT32_MAX = 4294967295;

/** Everything in front of the points, laid out once: only counts and bounds are still open. */
export interface LasLayout {
  options: LasOptions;
  recordLength: number;
  vlrs: VlrContent[];
  offsetToPoints: number;
}

/** Plans header and records. @throws Error when the options contradict the standard and `unsound` is not set. */
export function planLas(options: LasOptions): LasLayout {
  const minor = options.version[1];
  const { format, crs } = options;
  if (!options.unsound) {
    if (format > HIGHEST_FORMAT[minor]) throw new Error(`LAS 1.${minor} has no point format ${format}`);
    if (minor === 5 && format < 6) throw new Error('LAS 1.5 has formats 6 to 10 only');
    if (crs?.as === 'wkt' && minor < 4) throw new Error(`LAS 1.${minor} has no WKT records`);
    if (crs?.as === 'geotiff' && format >= 6) throw new Error('formats 6 to 10 ask for WKT');
    if (options.evlrs && minor < 4) throw new Error(`LAS 1.${minor} has no extended records of this kind`);
  }
  const vlrs: VlrContent[] = [];
  if (crs?.as === 'wkt') vlrs.push(wktRecord(crs));
  if (crs?.as === 'geotiff') vlrs.push(...geotiffRecords(crs));
  if (hasWaveform(format)) vlrs.push(waveDescriptor());
  const extra = options.extraBytes ?? [];
  if (extra.length > 0) vlrs.push(extraBytesRecord(extra));
  vlrs.push(...(options.vlrs ?? []));
  const recordLength = RECORD_LENGTHS[format] + extra.reduce((sum, field) => sum + EXTRA_SIZES[field.type], 0);
  const vlrBytes = vlrs.reduce((sum, vlr) => sum + 54 + vlr.data.length, 0);
  const offsetToPoints = HEADER_SIZES[minor] + vlrBytes + (minor === 0 ? 2 : 0);
  return { options, recordLength, vlrs, offsetToPoints };
}

/** Header and records as bytes, `offsetToPoints` of them. */
export function encodeHead(layout: LasLayout, tally: PointTally): Uint8Array {
  const minor = layout.options.version[1];
  const fields = { ...soundFields(layout, tally), ...layout.options.headerOverrides };
  const head = new Uint8Array(layout.offsetToPoints);
  const view = new DataView(head.buffer);
  const ascii = (at: number, text: string, length: number) => head.set(latin(text, length), at);
  const three = (at: number, values: readonly number[]) => {
    for (let k = 0; k < 3; k++) view.setFloat64(at + 8 * k, values[k], true);
  };
  ascii(0, fields.signature, 4);
  view.setUint16(4, fields.fileSourceId, true);
  view.setUint16(6, fields.globalEncoding, true);
  view.setUint8(24, fields.versionMajor);
  view.setUint8(25, fields.versionMinor);
  ascii(26, fields.systemIdentifier, 32);
  ascii(58, fields.generatingSoftware, 32);
  view.setUint16(90, fields.creationDay, true);
  view.setUint16(92, fields.creationYear, true);
  view.setUint16(94, fields.headerSize, true);
  view.setUint32(96, fields.offsetToPoints, true);
  view.setUint32(100, fields.vlrCount, true);
  view.setUint8(104, fields.format);
  view.setUint16(105, fields.recordLength, true);
  view.setUint32(107, fields.legacyCount, true);
  for (let k = 0; k < 5; k++) view.setUint32(111 + 4 * k, fields.legacyByReturn[k], true);
  three(131, fields.scale);
  three(155, fields.offset);
  for (let k = 0; k < 3; k++) {
    view.setFloat64(179 + 16 * k, fields.max[k], true);
    view.setFloat64(187 + 16 * k, fields.min[k], true);
  }
  if (minor >= 3) view.setBigUint64(227, BigInt(fields.waveformStart), true);
  if (minor >= 4) {
    view.setBigUint64(235, BigInt(fields.evlrStart), true);
    view.setUint32(243, fields.evlrCount, true);
    view.setBigUint64(247, BigInt(fields.count), true);
    for (let k = 0; k < 15; k++) view.setBigUint64(255 + 8 * k, BigInt(fields.byReturn[k]), true);
  }
  if (minor >= 5) {
    view.setFloat64(375, fields.gpsMax, true);
    view.setFloat64(383, fields.gpsMin, true);
    view.setUint16(391, fields.timeOffset, true);
  }
  let at = HEADER_SIZES[minor];
  for (const vlr of layout.vlrs) {
    view.setUint16(at, minor === 0 ? 0xaabb : 0, true);
    ascii(at + 2, vlr.userId, 16);
    view.setUint16(at + 18, vlr.recordId, true);
    view.setUint16(at + 20, vlr.data.length, true);
    ascii(at + 22, vlr.description ?? '', 32);
    head.set(vlr.data, at + 54);
    at += 54 + vlr.data.length;
  }
  // LAS 1.0 puts a two-byte mark before the points (from memory of its text).
  if (minor === 0) view.setUint16(at, 0xccdd, true);
  return head;
}

/** The extended records behind the points, as bytes. */
export function encodeEvlrs(evlrs: readonly VlrContent[]): Uint8Array {
  const out = new Uint8Array(evlrs.reduce((sum, evlr) => sum + 60 + evlr.data.length, 0));
  const view = new DataView(out.buffer);
  let at = 0;
  for (const evlr of evlrs) {
    out.set(latin(evlr.userId, 16), at + 2);
    view.setUint16(at + 18, evlr.recordId, true);
    view.setBigUint64(at + 20, BigInt(evlr.data.length), true);
    out.set(latin(evlr.description ?? '', 32), at + 28);
    out.set(evlr.data, at + 60);
    at += 60 + evlr.data.length;
  }
  return out;
}

function soundFields(layout: LasLayout, tally: PointTally): HeaderFields {
  const { options, recordLength, offsetToPoints } = layout;
  const minor = options.version[1];
  const { scale, offset, format } = options;
  const wkt = options.crs?.as === 'wkt';
  const standardTime = hasGpsTime(format) && minor >= 2 && (options.gpsTime ?? 'standard') === 'standard';
  const oldReader = minor < 4 || (format < 6 && !wkt && tally.count <= UINT32_MAX);
  const byReturn = Array.from(tally.byReturn);
  const extreme = (raw: Float64Array): [number, number, number] =>
    tally.count === 0
      ? [0, 0, 0]
      : [raw[0] * scale[0] + offset[0], raw[1] * scale[1] + offset[1], raw[2] * scale[2] + offset[2]];
  const evlrCount = options.evlrs?.length ?? 0;
  return {
    signature: 'LASF',
    fileSourceId: minor === 0 ? 0 : (options.fileSourceId ?? 0),
    globalEncoding: (standardTime ? 1 : 0) | (minor >= 4 && (wkt || format >= 6) ? 16 : 0),
    versionMajor: 1,
    versionMinor: minor,
    systemIdentifier: options.systemIdentifier ?? 'OTHER',
    generatingSoftware: options.generatingSoftware ?? 'cloudassay test clouds',
    creationDay: 100,
    creationYear: 2025,
    headerSize: HEADER_SIZES[minor],
    offsetToPoints,
    vlrCount: layout.vlrs.length,
    format,
    recordLength,
    legacyCount: oldReader ? tally.count : 0,
    legacyByReturn: oldReader ? byReturn.slice(0, 5) : [0, 0, 0, 0, 0],
    scale,
    offset,
    min: extreme(tally.min),
    max: extreme(tally.max),
    waveformStart: 0,
    evlrStart: evlrCount > 0 ? offsetToPoints + tally.count * recordLength : 0,
    evlrCount,
    count: tally.count,
    byReturn,
    gpsMax: tally.gpsMax === -Infinity ? 0 : tally.gpsMax,
    gpsMin: tally.gpsMin === Infinity ? 0 : tally.gpsMin,
    timeOffset: 0,
  };
}

function wktRecord(crs: CrsRecord): VlrContent {
  const data = new TextEncoder().encode(`${wktText(crs.horizontal, crs.vertical)}\0`);
  return { userId: 'LASF_Projection', recordId: 2112, description: 'OGC WKT coordinate system', data };
}

function geotiffRecords(crs: CrsRecord): VlrContent[] {
  const { keys, text } = geotiffKeys(crs.horizontal, crs.vertical);
  const directory = new Uint8Array(8 + 8 * keys.length);
  const view = new DataView(directory.buffer);
  [1, 1, 0, keys.length, ...keys.flat()].forEach((value, k) => {
    view.setUint16(2 * k, value, true);
  });
  const ascii = latin(text, text.length + 1);
  return [
    { userId: 'LASF_Projection', recordId: 34735, description: 'GeoTIFF key directory', data: directory },
    { userId: 'LASF_Projection', recordId: 34737, description: 'GeoTIFF text', data: ascii },
  ];
}

/** Formats with wave packets must describe one (LAS 1.4 R15, section 2.6.5): 8 bit, 1 sample, 1000 ps, gain 1. */
function waveDescriptor(): VlrContent {
  const data = new Uint8Array(26);
  const view = new DataView(data.buffer);
  view.setUint8(0, 8);
  view.setUint32(2, 1, true);
  view.setUint32(6, 1000, true);
  view.setFloat64(10, 1, true);
  return { userId: 'LASF_Spec', recordId: 100, description: 'Wave packet', data };
}

function extraBytesRecord(fields: readonly ExtraByteField[]): VlrContent {
  const data = new Uint8Array(192 * fields.length);
  fields.forEach((field, k) => {
    data[192 * k + 2] = field.type;
    data.set(latin(field.name, 32), 192 * k + 4);
    data.set(latin(field.description ?? '', 32), 192 * k + 160);
  });
  return { userId: 'LASF_Spec', recordId: 4, description: 'Extra bytes', data };
}

function latin(text: string, length: number): Uint8Array {
  const out = new Uint8Array(length);
  for (let k = 0; k < Math.min(length, text.length); k++) out[k] = text.charCodeAt(k) & 255;
  return out;
}

import type { PointBatch } from './columns.js';
import { collectFormatIssues, type FormatIssue, type ReportIssue } from './format-issue.js';
import type { Header } from './header.js';
import { POINT_FORMATS } from './point-formats.js';
import { fixedText } from './text.js';
import { isRecord, type Vlr } from './vlr.js';

/** Name of the number type of one member. */
type ExtraType = 'bytes' | 'u8' | 'i8' | 'u16' | 'i16' | 'u32' | 'i32' | 'u64' | 'i64' | 'f32' | 'f64';

/** One attribute stored in the extra bytes of each point. */
export interface ExtraByte {
  name: string;
  description: string;
  /** Type number of the descriptor, 0 to 30. */
  typeCode: number;
  type: ExtraType;
  /** 1; 2 or 3 for the deprecated arrays (types 11 to 30). 'bytes': 1. */
  members: number;
  /** Bytes of all members. */
  size: number;
  /** Byte position in the point's extra bytes. */
  offset: number;
  /** Absolute byte position in the file of its descriptor. */
  at: number;
  /** One number a member: value = stored * scale + shift; 1 and 0 where the descriptor gives none. */
  scale: number[];
  shift: number[];
  /** Stored value that stands for "no value", and stored extremes, by member; null where the descriptor gives none. */
  noData: number[] | null;
  min: number[] | null;
  max: number[] | null;
}

const DESCRIPTOR_BYTES = 192;
const TYPES: readonly ExtraType[] = ['bytes', 'u8', 'i8', 'u16', 'i16', 'u32', 'i32', 'u64', 'i64', 'f32', 'f64'];
const SIZES: Record<ExtraType, number> = {
  bytes: 0,
  u8: 1,
  i8: 1,
  u16: 2,
  i16: 2,
  u32: 4,
  i32: 4,
  u64: 8,
  i64: 8,
  f32: 4,
  f64: 8,
};

/** Attributes described, and what is odd about the descriptions. */
export interface ExtraBytes {
  extraBytes: ExtraByte[];
  formatIssues: FormatIssue[];
}

/**
 * Reads the extra bytes descriptors (LASF_Spec 4; layout: LAS specification 1.4, "extra bytes"). Attributes that reach
 * beyond the record are left out; bytes nobody describes are listed as an issue.
 */
export function readExtraBytes(header: Header, vlrs: readonly Vlr[]): ExtraBytes {
  const { formatIssues, add } = collectFormatIssues();
  const room = header.recordLength - POINT_FORMATS[header.pointFormat].minLength;
  const records = vlrs.filter((v) => isRecord(v, 'LASF_Spec', 4));
  if (records.length > 1)
    add('extra-bytes-repeated', records[1].offset, records.length, 1, 'more than one record describes extra bytes');
  const extraBytes: ExtraByte[] = [];
  const names = new Set<string>();
  let described = 0;
  for (const vlr of records.slice(0, 1)) {
    if (vlr.payload.length % DESCRIPTOR_BYTES !== 0) {
      const text = 'the extra bytes record has no whole number of descriptors';
      add('extra-bytes-length', vlr.offset + 20, vlr.payload.length, `a multiple of ${DESCRIPTOR_BYTES}`, text);
    }
    for (let at = 0; at + DESCRIPTOR_BYTES <= vlr.payload.length; at += DESCRIPTOR_BYTES) {
      const where = vlr.payloadOffset + at;
      const bytes = vlr.payload.subarray(at, at + DESCRIPTOR_BYTES);
      if (bytes[2] > 30) {
        add('extra-bytes-type', where + 2, bytes[2], '0 to 10', 'an extra bytes type is reserved; its size is unknown');
        // Without its size nothing behind it can be placed: the rest counts as described.
        described = room;
        break;
      }
      const extra = describe(bytes, described, where);
      inspectDescriptor(bytes, extra, where, names, add);
      names.add(extra.name);
      described += extra.size;
      if (described <= room) extraBytes.push(extra);
    }
    if (described > room) {
      add('extra-bytes-sum', vlr.offset, described, room, 'more extra bytes are described than a point has');
    }
  }
  if (described < room) {
    const text = `${room - described} bytes of every point are described nowhere`;
    add('extra-bytes-undocumented', 105, room - described, 0, text);
  }
  return { extraBytes, formatIssues };
}

function inspectDescriptor(
  bytes: Uint8Array,
  extra: ExtraByte,
  where: number,
  names: ReadonlySet<string>,
  add: ReportIssue,
): void {
  const quoted = JSON.stringify(extra.name);
  if (extra.typeCode > 10)
    add('extra-bytes-deprecated', where + 2, bytes[2], '0 to 10', `the type of extra bytes ${quoted} is deprecated`);
  if (extra.typeCode !== 0 && bytes[3] >= 32) {
    const text = `reserved option bits of extra bytes ${quoted} are set`;
    add('extra-bytes-options', where + 3, bytes[3], bytes[3] & 31, text);
  }
  if (mustBeZero(bytes))
    add('extra-bytes-zero', where, 'other bytes', 'zero', `unused fields of extra bytes ${quoted} are not zero`);
  if (extra.name === '') {
    add('extra-bytes-name', where + 4, 'nothing', 'a name', 'extra bytes have no name');
  } else if (names.has(extra.name)) {
    add('extra-bytes-name-repeated', where + 4, extra.name, 'a name of its own', 'two extra bytes have the same name');
  }
  const unusable = extra.scale.findIndex(
    (scale, i) => !Number.isFinite(scale) || scale === 0 || !Number.isFinite(extra.shift[i]),
  );
  if (unusable >= 0) {
    const found = `scale ${extra.scale[unusable]}, offset ${extra.shift[unusable]}`;
    const text = `values of extra bytes ${quoted} cannot be worked out`;
    add('extra-bytes-scale', where + 112, found, 'finite numbers, and a scale that is not zero', text);
  }
  const { min, max } = extra;
  if (min && max && min.some((low, i) => low > max[i])) {
    const text = `the stated range of extra bytes ${quoted} is turned round`;
    add('extra-bytes-range', where + 64, `${min.join(' ')} to ${max.join(' ')}`, 'minimum below maximum', text);
  }
}

function describe(bytes: Uint8Array, offset: number, at: number): ExtraByte {
  const view = new DataView(bytes.buffer, bytes.byteOffset, DESCRIPTOR_BYTES);
  const typeCode = bytes[2];
  const options = bytes[3];
  const type = TYPES[typeCode === 0 ? 0 : ((typeCode - 1) % 10) + 1];
  const members = typeCode === 0 ? 1 : Math.floor((typeCode - 1) / 10) + 1;
  // Type 0 keeps its number of bytes in the options.
  const size = typeCode === 0 ? options : SIZES[type] * members;
  const bit = (n: number) => typeCode !== 0 && (options & (1 << n)) !== 0;
  const list = (at: number, read: (p: number) => number) => Array.from({ length: members }, (_, i) => read(at + 8 * i));
  const stored = (n: number, at: number) => (bit(n) ? list(at, (p) => widened(view, p, type)) : null);
  const real = (n: number, at: number, otherwise: number) =>
    list(at, (p) => (bit(n) ? view.getFloat64(p, true) : otherwise));
  return {
    name: fixedText(bytes, 4, 32).text,
    description: fixedText(bytes, 160, 32).text,
    typeCode,
    type,
    members,
    size,
    offset,
    at,
    scale: real(3, 112, 1),
    shift: real(4, 136, 0),
    noData: stored(0, 40),
    min: stored(1, 64),
    max: stored(2, 88),
  };
}

/** no-data, min and max are stored as eight bytes of the type's kind: signed, unsigned or floating. */
function widened(view: DataView, at: number, type: ExtraType): number {
  if (type[0] === 'f') return view.getFloat64(at, true);
  return Number(type[0] === 'i' ? view.getBigInt64(at, true) : view.getBigUint64(at, true));
}

/** Whether fields are set that must be zero: reserved, unused, and values whose option bit is clear. */
function mustBeZero(bytes: Uint8Array): boolean {
  const set = (begin: number, length: number) => bytes.subarray(begin, begin + length).some((b) => b !== 0);
  if (set(0, 2) || set(36, 4) || !fixedText(bytes, 4, 32).padded || !fixedText(bytes, 160, 32).padded) return true;
  const options = bytes[2] === 0 ? 0 : bytes[3];
  // Deprecated arrays use all three members of each field; the later text calls the last two deprecated.
  const fields = [40, 64, 88, 112, 136];
  const members = bytes[2] === 0 ? 1 : Math.floor((bytes[2] - 1) / 10) + 1;
  return fields.some((at, i) => {
    const used = options & (1 << i) ? 8 * members : 0;
    return set(at + used, 24 - used);
  });
}

/** The attribute called `name`, or null. */
export function findExtraByte(extraBytes: readonly ExtraByte[], name: string): ExtraByte | null {
  return extraBytes.find((e) => e.name === name) ?? null;
}

/**
 * Values of one attribute for the points of a batch decoded with the column 'extra': scaled and shifted, NaN where the
 * stored value is the no-data value. 'bytes' gives the first byte as it is.
 * @param into at least batch.count long
 */
export function decodeExtraByte(extra: ExtraByte, batch: PointBatch, into: Float64Array, member = 0): Float64Array {
  const { buffer, byteOffset, byteLength } = batch.extra;
  const view = new DataView(buffer, byteOffset, byteLength);
  const read = READERS[extra.type];
  const step = batch.extraLength;
  const begin = extra.offset + member * SIZES[extra.type];
  const scale = extra.scale[member];
  const shift = extra.shift[member];
  const noData = extra.noData ? extra.noData[member] : Number.NaN;
  for (let i = 0, p = begin; i < batch.count; i++, p += step) {
    const stored = read(view, p);
    into[i] = stored === noData ? Number.NaN : stored * scale + shift;
  }
  return into;
}

const READERS: Record<ExtraType, (view: DataView, at: number) => number> = {
  bytes: (v, p) => v.getUint8(p),
  u8: (v, p) => v.getUint8(p),
  i8: (v, p) => v.getInt8(p),
  u16: (v, p) => v.getUint16(p, true),
  i16: (v, p) => v.getInt16(p, true),
  u32: (v, p) => v.getUint32(p, true),
  i32: (v, p) => v.getInt32(p, true),
  u64: (v, p) => v.getUint32(p, true) + v.getUint32(p + 4, true) * 4294967296,
  i64: (v, p) => v.getUint32(p, true) + v.getInt32(p + 4, true) * 4294967296,
  f32: (v, p) => v.getFloat32(p, true),
  f64: (v, p) => v.getFloat64(p, true),
};

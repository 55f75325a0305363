/**
 * Builds LAS files byte by byte, independently of the reader: positions are written out as in the LAS specification's
 * tables (1.4 revision 16, ASPRS), not taken from the code under test.
 */

export interface RecordSpec {
  userId: string;
  recordId: number;
  payload: Uint8Array;
  description?: string;
}

export interface LasSpec {
  minor: number;
  format: number;
  /** Raw point records, all of `recordLength` bytes. */
  points: Uint8Array;
  recordLength: number;
  encoding?: number;
  scale?: [number, number, number];
  offset?: [number, number, number];
  min?: [number, number, number];
  max?: [number, number, number];
  byReturn?: number[];
  vlrs?: RecordSpec[];
  evlrs?: RecordSpec[];
}

const SIZES = [227, 227, 227, 235, 375, 393];

/** Minimum record lengths of formats 0 to 10, LAS specification 1.4, table of point data record formats. */
export const MIN_LENGTH = [20, 28, 26, 34, 57, 63, 30, 36, 38, 59, 67];

export function text(view: DataView, at: number, value: string): void {
  for (let i = 0; i < value.length; i++) view.setUint8(at + i, value.charCodeAt(i));
}

export function buildLas(spec: LasSpec): Uint8Array {
  const headerSize = SIZES[spec.minor];
  const vlrs = spec.vlrs ?? [];
  const evlrs = spec.evlrs ?? [];
  const pointOffset = headerSize + vlrs.reduce((n, v) => n + 54 + v.payload.length, 0);
  const evlrStart = pointOffset + spec.points.length;
  const size = evlrStart + evlrs.reduce((n, v) => n + 60 + v.payload.length, 0);
  const bytes = new Uint8Array(size);
  const view = new DataView(bytes.buffer);
  const count = spec.points.length / spec.recordLength;
  text(view, 0, 'LASF');
  // Formats 6 and above: WKT. Formats with wave packets: the waveforms lie beside the file.
  const usual = (spec.format >= 6 ? 16 : 0) | ([4, 5, 9, 10].includes(spec.format) ? 4 : 0);
  view.setUint16(6, spec.encoding ?? usual, true);
  view.setUint8(24, 1);
  view.setUint8(25, spec.minor);
  text(view, 26, 'OTHER');
  text(view, 58, 'builder of the tests');
  view.setUint16(90, 60, true);
  view.setUint16(92, 2025, true);
  view.setUint16(94, headerSize, true);
  view.setUint32(96, pointOffset, true);
  view.setUint32(100, vlrs.length, true);
  view.setUint8(104, spec.format);
  view.setUint16(105, spec.recordLength, true);
  const legacy = spec.format < 6;
  const byReturn = spec.byReturn ?? [count];
  if (legacy) {
    view.setUint32(107, count, true);
    for (let i = 0; i < 5; i++) view.setUint32(111 + 4 * i, byReturn[i] ?? 0, true);
  }
  const scale = spec.scale ?? [0.001, 0.001, 0.001];
  const offset = spec.offset ?? [0, 0, 0];
  for (let i = 0; i < 3; i++) {
    view.setFloat64(131 + 8 * i, scale[i], true);
    view.setFloat64(155 + 8 * i, offset[i], true);
    view.setFloat64(179 + 16 * i, spec.max?.[i] ?? 0, true);
    view.setFloat64(187 + 16 * i, spec.min?.[i] ?? 0, true);
  }
  if (spec.minor >= 4) {
    view.setBigUint64(235, BigInt(evlrs.length > 0 ? evlrStart : 0), true);
    view.setUint32(243, evlrs.length, true);
    view.setBigUint64(247, BigInt(count), true);
    for (let i = 0; i < 15; i++) view.setBigUint64(255 + 8 * i, BigInt(byReturn[i] ?? 0), true);
  }
  let at = headerSize;
  for (const v of vlrs) {
    text(view, at + 2, v.userId);
    view.setUint16(at + 18, v.recordId, true);
    view.setUint16(at + 20, v.payload.length, true);
    text(view, at + 22, v.description ?? '');
    bytes.set(v.payload, at + 54);
    at += 54 + v.payload.length;
  }
  bytes.set(spec.points, pointOffset);
  at = evlrStart;
  for (const v of evlrs) {
    text(view, at + 2, v.userId);
    view.setUint16(at + 18, v.recordId, true);
    view.setBigUint64(at + 20, BigInt(v.payload.length), true);
    text(view, at + 28, v.description ?? '');
    bytes.set(v.payload, at + 60);
    at += 60 + v.payload.length;
  }
  return bytes;
}

/** Payload of a GeoKeyDirectory: key, location, count, value. */
export function geoKeys(keys: [number, number, number, number][], revision: [number, number] = [1, 1]): Uint8Array {
  const bytes = new Uint8Array(8 + 8 * keys.length);
  const view = new DataView(bytes.buffer);
  [revision[0], revision[1], 0, keys.length].forEach((v, i) => {
    view.setUint16(2 * i, v, true);
  });
  keys.flat().forEach((v, i) => {
    view.setUint16(8 + 2 * i, v, true);
  });
  return bytes;
}

export const utf8 = (value: string) => new TextEncoder().encode(value);

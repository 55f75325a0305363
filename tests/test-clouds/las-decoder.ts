/**
 * A plain reader of LAS images for these tests, written from the byte tables of the LAS 1.4 R15 specification (sections 2.4
 * and 2.6) and knowing nothing of the writer or of src.
 */
export interface DecodedLas {
  view: DataView;
  minor: number;
  headerSize: number;
  offsetToPoints: number;
  format: number;
  recordLength: number;
  legacyCount: number;
  legacyByReturn: number[];
  count: number;
  byReturn: number[];
  scale: number[];
  offset: number[];
  max: number[];
  min: number[];
  globalEncoding: number;
  vlrs: { userId: string; recordId: number; reserved: number; data: Uint8Array; at: number }[];
  vlrEnd: number;
}

export interface DecodedPoint {
  x: number;
  y: number;
  z: number;
  raw: [number, number, number];
  intensity: number;
  returnNumber: number;
  returnCount: number;
  /** Synthetic 1, key point 2, withheld 4, overlap 8. */
  flags: number;
  scanDirection: number;
  edge: number;
  channel: number;
  classification: number;
  userData: number;
  scanAngle: number;
  pointSourceId: number;
  gpsTime: number | null;
  colour: number[] | null;
  nir: number | null;
}

/** Table of record lengths: LAS 1.4 R15, section 2.6. */
export const SPEC_RECORD_LENGTHS = [20, 28, 26, 34, 57, 63, 30, 36, 38, 59, 67];

export function text(bytes: Uint8Array, at: number, length: number): string {
  let out = '';
  for (let k = at; k < at + length && bytes[k] !== 0; k++) out += String.fromCharCode(bytes[k]);
  return out;
}

export function decodeLas(bytes: Uint8Array): DecodedLas {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const minor = view.getUint8(25);
  const three = (at: number, stride: number) => [0, 1, 2].map((k) => view.getFloat64(at + k * stride, true));
  const headerSize = view.getUint16(94, true);
  const vlrs: DecodedLas['vlrs'] = [];
  let at = headerSize;
  for (let k = view.getUint32(100, true); k > 0; k--) {
    const length = view.getUint16(at + 20, true);
    vlrs.push({
      at,
      reserved: view.getUint16(at, true),
      userId: text(bytes, at + 2, 16),
      recordId: view.getUint16(at + 18, true),
      data: bytes.slice(at + 54, at + 54 + length),
    });
    at += 54 + length;
  }
  const legacyCount = view.getUint32(107, true);
  const legacyByReturn = [0, 1, 2, 3, 4].map((k) => view.getUint32(111 + 4 * k, true));
  const wide = minor >= 4;
  return {
    view,
    minor,
    headerSize,
    offsetToPoints: view.getUint32(96, true),
    format: view.getUint8(104),
    recordLength: view.getUint16(105, true),
    legacyCount,
    legacyByReturn,
    count: wide ? Number(view.getBigUint64(247, true)) : legacyCount,
    byReturn: wide
      ? Array.from({ length: 15 }, (_, k) => Number(view.getBigUint64(255 + 8 * k, true)))
      : [...legacyByReturn],
    scale: three(131, 8),
    offset: three(155, 8),
    max: three(179, 16),
    min: three(187, 16),
    globalEncoding: view.getUint16(6, true),
    vlrs,
    vlrEnd: at,
  };
}

export function decodePoint(las: DecodedLas, index: number): DecodedPoint {
  const { view, format, scale, offset } = las;
  const at = las.offsetToPoints + index * las.recordLength;
  const raw: [number, number, number] = [0, 4, 8].map((k) => view.getInt32(at + k, true)) as [number, number, number];
  const b14 = view.getUint8(at + 14);
  const b15 = view.getUint8(at + 15);
  const modern = format >= 6;
  const gps = [null, 20, null, 20, 20, 20, 22, 22, 22, 22, 22][format];
  const rgb = [null, null, 20, 28, null, 28, null, 30, 30, null, 30][format];
  return {
    x: raw[0] * scale[0] + offset[0],
    y: raw[1] * scale[1] + offset[1],
    z: raw[2] * scale[2] + offset[2],
    raw,
    intensity: view.getUint16(at + 12, true),
    returnNumber: modern ? b14 & 15 : b14 & 7,
    returnCount: modern ? b14 >> 4 : (b14 >> 3) & 7,
    flags: modern ? b15 & 15 : b15 >> 5,
    scanDirection: modern ? (b15 >> 6) & 1 : (b14 >> 6) & 1,
    edge: modern ? b15 >> 7 : b14 >> 7,
    channel: modern ? (b15 >> 4) & 3 : 0,
    classification: modern ? view.getUint8(at + 16) : b15 & 31,
    userData: view.getUint8(at + 17),
    scanAngle: modern ? view.getInt16(at + 18, true) : view.getInt8(at + 16),
    pointSourceId: view.getUint16(at + (modern ? 20 : 18), true),
    gpsTime: gps === null ? null : view.getFloat64(at + gps, true),
    colour: rgb === null ? null : [0, 2, 4].map((k) => view.getUint16(at + rgb + k, true)),
    nir: format === 8 || format === 10 ? view.getUint16(at + 36, true) : null,
  };
}

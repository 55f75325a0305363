import { type RecordParts, recordParts } from './record-parts.js';

/** Header fields by byte position (LAS 1.4 R15, 2.4). */
const At = {
  minor: 25,
  headerSize: 94,
  pointOffset: 96,
  vlrCount: 100,
  format: 104,
  recordLength: 105,
  legacyCount: 107,
  waveformStart: 227,
  evlrStart: 235,
  evlrCount: 243,
  count: 247,
} as const;

const VLR_HEAD = 54;

/** An uncompressed LAS file taken apart. */
export interface LasImage {
  bytes: Uint8Array;
  view: DataView;
  minor: number;
  headerSize: number;
  /** Each VLR with its head of 54 bytes. */
  vlrs: Uint8Array[];
  /** The bytes between the VLRs and the points. */
  gap: Uint8Array;
  parts: RecordParts;
  count: number;
  /** The point records. */
  points: DataView;
  /** What follows the points: EVLRs, as they are. */
  tail: Uint8Array;
  tailStart: number;
}

/** Splits the bytes of an uncompressed LAS file into its parts. */
export function readLasImage(bytes: Uint8Array): LasImage {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const minor = bytes[At.minor];
  const headerSize = view.getUint16(At.headerSize, true);
  const pointOffset = view.getUint32(At.pointOffset, true);
  const vlrs: Uint8Array[] = [];
  let at = headerSize;
  for (let i = 0; i < view.getUint32(At.vlrCount, true); i++) {
    const length = VLR_HEAD + view.getUint16(at + 20, true);
    vlrs.push(bytes.subarray(at, at + length));
    at += length;
  }
  const parts = recordParts(bytes[At.format], view.getUint16(At.recordLength, true));
  const count = minor >= 4 ? Number(view.getBigUint64(At.count, true)) : view.getUint32(At.legacyCount, true);
  const tailStart = pointOffset + count * parts.recordLength;
  return {
    bytes,
    view,
    minor,
    headerSize,
    vlrs,
    gap: bytes.subarray(at, pointOffset),
    parts,
    count,
    points: new DataView(bytes.buffer, bytes.byteOffset + pointOffset, count * parts.recordLength),
    tail: bytes.subarray(tailStart),
    tailStart,
  };
}

/** A VLR from its payload. */
export function buildVlr(userId: string, recordId: number, description: string, payload: Uint8Array): Uint8Array {
  const vlr = new Uint8Array(VLR_HEAD + payload.length);
  const view = new DataView(vlr.buffer);
  vlr.set(new TextEncoder().encode(userId), 2);
  view.setUint16(18, recordId, true);
  view.setUint16(20, payload.length, true);
  vlr.set(new TextEncoder().encode(description).subarray(0, 32), 22);
  vlr.set(payload, VLR_HEAD);
  return vlr;
}

/** An EVLR from its payload. */
export function buildEvlr(userId: string, recordId: number, description: string, payload: Uint8Array): Uint8Array {
  const evlr = new Uint8Array(60 + payload.length);
  const view = new DataView(evlr.buffer);
  evlr.set(new TextEncoder().encode(userId), 2);
  view.setUint16(18, recordId, true);
  view.setBigUint64(20, BigInt(payload.length), true);
  evlr.set(new TextEncoder().encode(description).subarray(0, 32), 28);
  evlr.set(payload, 60);
  return evlr;
}

/** A header for other VLRs and another place of the points. The format's top bit says "compressed". */
export function compressedHeader(image: LasImage, vlrs: readonly Uint8Array[], pointOffset: number): Uint8Array {
  const header = new Uint8Array(image.bytes.subarray(0, image.headerSize));
  const view = new DataView(header.buffer);
  header[At.format] |= 0x80;
  view.setUint32(At.pointOffset, pointOffset, true);
  view.setUint32(At.vlrCount, vlrs.length, true);
  return header;
}

/** Corrects the positions of everything after the points; `to` is the new position of `image.tail`. */
export function moveTail(image: LasImage, header: Uint8Array, to: number, evlrsAdded = 0): void {
  const view = new DataView(header.buffer, header.byteOffset, header.byteLength);
  const move = (at: number): void => {
    const start = Number(view.getBigUint64(at, true));
    if (start >= image.tailStart) view.setBigUint64(at, BigInt(start - image.tailStart + to), true);
  };
  if (image.minor >= 3) move(At.waveformStart);
  if (image.minor < 4) return;
  move(At.evlrStart);
  if (evlrsAdded === 0) return;
  const evlrs = view.getUint32(At.evlrCount, true);
  if (evlrs === 0) view.setBigUint64(At.evlrStart, BigInt(to), true);
  view.setUint32(At.evlrCount, evlrs + evlrsAdded, true);
}

/** One array of many. */
export function joinBytes(pieces: readonly Uint8Array[]): Uint8Array {
  const joined = new Uint8Array(pieces.reduce((sum, piece) => sum + piece.length, 0));
  let at = 0;
  for (const piece of pieces) {
    joined.set(piece, at);
    at += piece.length;
  }
  return joined;
}

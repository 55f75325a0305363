import type { Random } from '../../src/simulate/scene/random.js';

/** A copy of a file with numbers of its own, and the means to change it. All numbers are little-endian. */
interface Edit {
  bytes: Uint8Array;
  view: DataView;
}

/** Not slice(): on a Buffer that is a view of the same memory. */
function copyOf(bytes: Uint8Array): Edit {
  const copy = new Uint8Array(bytes);
  return { bytes: copy, view: new DataView(copy.buffer) };
}

/** The file with some of its bytes changed. */
export function changed(bytes: Uint8Array, change: (view: DataView, bytes: Uint8Array) => void): Uint8Array {
  const edit = copyOf(bytes);
  change(edit.view, edit.bytes);
  return edit.bytes;
}

/** Positions of header fields (LAS 1.4 R16, 2.4). */
export const At = {
  encoding: 6,
  minor: 25,
  system: 26,
  software: 58,
  day: 90,
  year: 92,
  headerSize: 94,
  pointOffset: 96,
  vlrCount: 100,
  format: 104,
  recordLength: 105,
  scale: 131,
  offset: 155,
  maxX: 179,
  minX: 187,
  waveformStart: 227,
  evlrStart: 235,
  evlrCount: 243,
  count: 247,
  byReturn: 255,
} as const;

/** Byte position of the n-th record before the points that has this user id (any, if empty) and record id. */
export function recordAt(bytes: Uint8Array, recordId: number, userId = ''): number {
  const view = new DataView(bytes.buffer, bytes.byteOffset);
  let at = view.getUint16(At.headerSize, true);
  for (let k = view.getUint32(At.vlrCount, true); k > 0; k--) {
    if (view.getUint16(at + 18, true) === recordId && (userId === '' || textAt(bytes, at + 2, 16) === userId))
      return at;
    at += 54 + view.getUint16(at + 20, true);
  }
  throw new Error(`the file has no record ${userId} ${recordId}`);
}

/** Text of a fixed-width field, up to its first zero byte. */
export function textAt(bytes: Uint8Array, at: number, length: number): string {
  const field = bytes.subarray(at, at + length);
  const end = field.indexOf(0);
  return new TextDecoder('latin1').decode(end < 0 ? field : field.subarray(0, end));
}

/** Writes a text to a fixed-width field and fills the rest with zeros. */
export function putText(bytes: Uint8Array, at: number, length: number, text: string): void {
  bytes.fill(0, at, at + length);
  for (let i = 0; i < Math.min(length, text.length); i++) bytes[at + i] = text.charCodeAt(i) & 255;
}

/** The file with `count` zero bytes put in before the points; all places the header and LAZ know move along. */
export function insertBeforePoints(bytes: Uint8Array, at: number, count: number): Uint8Array {
  const out = new Uint8Array(bytes.length + count);
  out.set(bytes.subarray(0, at));
  out.set(bytes.subarray(at), at + count);
  const view = new DataView(out.buffer);
  const start = view.getUint32(At.pointOffset, true) + count;
  view.setUint32(At.pointOffset, start, true);
  const minor = out[At.minor];
  const move = (place: number) => {
    const position = view.getBigUint64(place, true);
    if (position > 0n) view.setBigUint64(place, position + BigInt(count), true);
  };
  if (minor >= 3) move(At.waveformStart);
  if (minor >= 4) move(At.evlrStart);
  if (out[At.format] & 0x80) view.setBigInt64(start, view.getBigInt64(start, true) + BigInt(count), true);
  return out;
}

/** The file with bytes behind its end. */
export function append(bytes: Uint8Array, more: Uint8Array): Uint8Array {
  const out = new Uint8Array(bytes.length + more.length);
  out.set(bytes);
  out.set(more, bytes.length);
  return out;
}

/** One of a list. */
export function oneOf<T>(random: Random, list: readonly T[]): T {
  return list[random.below(list.length)];
}

/** A whole number from low to high, both included. */
export function whole(random: Random, low: number, high: number): number {
  return low + random.below(high - low + 1);
}

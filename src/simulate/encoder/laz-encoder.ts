import { createArithmeticEncoder } from './arithmetic-encoder.js';
import { createIntegerEncoder } from './integer-encoder.js';
import type { LayeredVersion } from './item-encoders.js';
import { buildVlr, compressedHeader, joinBytes, type LasImage, moveTail, readLasImage } from './las-image.js';
import { encodeLayeredChunk } from './layered-encoder.js';
import { encodePointwiseChunk } from './pointwise-encoder.js';
import { encodeOldChunk } from './pointwise-old-encoder.js';
import type { RecordParts } from './record-parts.js';

/** Options of the LAZ encoder. */
export interface LazOptions {
  /** Points a chunk, or, for chunks of their own sizes, a list that adds up to all points. */
  chunkSize?: number | readonly number[];
  /** Version of the compressed items: 1 or 2 (the default) for formats 0 to 5, 3 (the default) or 4 for 6 to 10. */
  version?: 1 | 2 | 3 | 4;
}

/** Position of a chunk in the compressed file. */
export interface ChunkPlace {
  begin: number;
  end: number;
  points: number;
}

/** Chunk size that means that every chunk states its own number of points. */
const VARIABLE = 0xffffffff;

/**
 * Compresses a LAS file of any point format (versions 1.0 to 1.4) to a LAZ file: the same header, VLRs, points and EVLRs.
 * Layout by the LASzip specification. For tests and demo data: clear rather than fast, everything in memory.
 */
export function encodeLaz(las: Uint8Array, options: LazOptions = {}): Uint8Array {
  return encodeLazWithChunks(las, options).bytes;
}

/** As `encodeLaz`; also returns the positions of the chunks. */
export function encodeLazWithChunks(
  las: Uint8Array,
  options: LazOptions = {},
): { bytes: Uint8Array; chunks: ChunkPlace[] } {
  const image = readLasImage(las);
  const { chunkSize = 50_000 } = options;
  const version = options.version ?? (image.parts.layered ? 3 : 2);
  const counts = typeof chunkSize === 'number' ? evenCounts(image.count, chunkSize) : [...chunkSize];
  const fixed = typeof chunkSize === 'number' ? chunkSize : undefined;
  const vlrs = [...image.vlrs, lazVlr(image.parts, fixed ?? VARIABLE, version)];
  const pointOffset = image.headerSize + joinBytes(vlrs).length + image.gap.length;
  const first = pointOffset + 8;
  const places: ChunkPlace[] = [];
  const chunks: Uint8Array[] = [];
  let point = 0;
  let at = first;
  for (const count of counts) {
    const chunk = encodeChunk(image, point, count, version);
    chunks.push(chunk);
    places.push({ begin: at, end: at + chunk.length, points: count });
    point += count;
    at += chunk.length;
  }
  if (point !== image.count) throw new Error(`the chunks hold ${point} points of ${image.count}`);
  const table = encodeChunkTable(places, fixed === undefined);
  const header = compressedHeader(image, vlrs, pointOffset);
  moveTail(image, header, at + table.length);
  const bytes = joinBytes([header, ...vlrs, image.gap, tablePointer(at), ...chunks, table, image.tail]);
  return { bytes, chunks: places };
}

function evenCounts(points: number, chunkSize: number): number[] {
  const counts: number[] = [];
  for (let left = points; left > 0; left -= chunkSize) counts.push(Math.min(left, chunkSize));
  return counts;
}

function encodeChunk(image: LasImage, first: number, count: number, version: number): Uint8Array {
  const { parts, points } = image;
  const length = parts.recordLength;
  const records = new DataView(points.buffer, points.byteOffset + first * length, count * length);
  return encodeRecords(records, parts, version);
}

/** Compresses point records to one chunk. */
export function encodeRecords(records: DataView, parts: RecordParts, version: number): Uint8Array {
  if (parts.layered) return encodeLayeredChunk(records, parts, version as LayeredVersion);
  return version === 1 ? encodeOldChunk(records, parts) : encodePointwiseChunk(records, parts);
}

/** The eight bytes before the first chunk. */
export function tablePointer(table: number): Uint8Array {
  const bytes = new Uint8Array(8);
  new DataView(bytes.buffer).setBigInt64(0, BigInt(table), true);
  return bytes;
}

/** Sizes of all chunks and, where they differ (`counted`), their points. */
export function encodeChunkTable(chunks: readonly ChunkPlace[], counted: boolean): Uint8Array {
  const head = new Uint8Array(8);
  new DataView(head.buffer).setUint32(4, chunks.length, true);
  if (chunks.length === 0) return head;
  const encoder = createArithmeticEncoder();
  const numbers = createIntegerEncoder(encoder, 32, 2);
  let points = 0;
  let size = 0;
  for (const chunk of chunks) {
    if (counted) numbers.write(points, chunk.points, 0);
    numbers.write(size, chunk.end - chunk.begin, 1);
    points = chunk.points;
    size = chunk.end - chunk.begin;
  }
  return joinBytes([head, encoder.finish()]);
}

/** Item types (LASzip, src/laszip.hpp) and sizes. */
function itemsOf(parts: RecordParts, version: number): { type: number; size: number; version: number }[] {
  const { layered, format, extraLength } = parts;
  const items = [layered ? { type: 10, size: 30, version } : { type: 6, size: 20, version }];
  if (!layered && parts.time >= 0) items.push({ type: 7, size: 8, version });
  if (!layered && parts.colour >= 0) items.push({ type: 8, size: 6, version });
  if (layered && parts.nir >= 0) items.push({ type: 12, size: 8, version });
  else if (layered && parts.colour >= 0) items.push({ type: 11, size: 6, version });
  if (parts.waveform >= 0) items.push(layered ? { type: 13, size: 29, version } : { type: 9, size: 29, version: 1 });
  if (extraLength > 0) items.push({ type: layered ? 14 : 0, size: extraLength, version });
  if (format > 10) throw new Error(`no such point format: ${format}`);
  return items;
}

/** The VLR that says how the points are compressed. */
export function lazVlr(parts: RecordParts, chunkSize: number, version: number): Uint8Array {
  const items = itemsOf(parts, version);
  const payload = new Uint8Array(34 + 6 * items.length);
  const view = new DataView(payload.buffer);
  view.setUint16(0, parts.layered ? 3 : 2, true);
  // Version of the codec that wrote the file: the one this format was last described for.
  payload[4] = 3;
  payload[5] = 4;
  view.setUint32(12, chunkSize, true);
  view.setBigInt64(16, -1n, true);
  view.setBigInt64(24, -1n, true);
  view.setUint16(32, items.length, true);
  for (const [i, item] of items.entries()) {
    view.setUint16(34 + 6 * i, item.type, true);
    view.setUint16(36 + 6 * i, item.size, true);
    view.setUint16(38 + 6 * i, item.version, true);
  }
  return buildVlr('laszip encoded', 22204, 'compressed by a test encoder', payload);
}

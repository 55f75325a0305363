import type { Column, PointBatch } from '../../src/cloud/columns.js';
import { ALL_COLUMNS } from '../../src/cloud/columns.js';
import type { LazDecoder, LazLayout } from '../../src/cloud/decoder/laz-decoder.js';
import { readLasImage } from '../../src/simulate/encoder/las-image.js';
import type { ChunkPlace } from '../../src/simulate/encoder/laz-encoder.js';
import { type RecordParts, recordParts } from '../../src/simulate/encoder/record-parts.js';

/** Point records of formats 0 to 10, LAS 1.4 R15, section 2.6. */
export const RECORD_LENGTHS = [20, 28, 26, 34, 57, 63, 30, 36, 38, 59, 67];

/** A LAS 1.4 file with nothing but a header and the given records. */
export function lasFromRecords(format: number, records: Uint8Array, recordLength: number): Uint8Array {
  const las = new Uint8Array(375 + records.length);
  const view = new DataView(las.buffer);
  las.set(new TextEncoder().encode('LASF'));
  las[24] = 1;
  las[25] = 4;
  view.setUint16(94, 375, true);
  view.setUint32(96, 375, true);
  las[104] = format;
  view.setUint16(105, recordLength, true);
  for (let axis = 0; axis < 3; axis++) view.setFloat64(131 + 8 * axis, 0.001, true);
  view.setBigUint64(247, BigInt(records.length / recordLength), true);
  las.set(records, 375);
  return las;
}

/** The layout of a LAZ file, read from its own LAZ record. */
export function layoutOf(laz: Uint8Array): LazLayout {
  const view = new DataView(laz.buffer, laz.byteOffset, laz.byteLength);
  const format = laz[104] & 63;
  const recordLength = view.getUint16(105, true);
  const items: LazLayout['items'][number][] = [];
  let at = view.getUint16(94, true);
  for (let i = view.getUint32(100, true); i > 0; i--) {
    if (new TextDecoder('latin1').decode(laz.subarray(at + 2, at + 16)) === 'laszip encoded') {
      for (let k = 0; k < view.getUint16(at + 54 + 32, true); k++) {
        const [type, size, version] = [0, 2, 4].map((j) => view.getUint16(at + 54 + 34 + 6 * k + j, true));
        items.push({ type, size, version });
      }
    }
    at += 54 + view.getUint16(at + 20, true);
  }
  return { format, items, recordLength, extraLength: recordLength - RECORD_LENGTHS[format] };
}

/** The records of an uncompressed file, one after another. */
export function recordsOf(las: Uint8Array): { records: Uint8Array; parts: RecordParts; count: number } {
  const { points, parts, count } = readLasImage(las);
  return { records: new Uint8Array(points.buffer, points.byteOffset, points.byteLength), parts, count };
}

/** Decodes chunks with all columns and puts the records together again as LAS has them. */
export function decodeRecords(
  decoder: LazDecoder,
  laz: Uint8Array,
  chunks: readonly ChunkPlace[],
  columns: ReadonlySet<Column> = new Set(ALL_COLUMNS),
): Uint8Array {
  const layout = layoutOf(laz);
  const parts = recordParts(layout.format, layout.recordLength);
  const total = chunks.reduce((sum, chunk) => sum + chunk.points, 0);
  const records = new Uint8Array(total * layout.recordLength);
  const view = new DataView(records.buffer);
  let first = 0;
  decoder.open(layout, 'test.laz');
  for (const chunk of chunks) {
    const sink = (batch: PointBatch): void => {
      for (let i = 0; i < batch.count; i++)
        putRecord(view, (first + batch.first + i) * layout.recordLength, batch, i, parts);
    };
    decoder.chunk(laz.subarray(chunk.begin, chunk.end), chunk.points, columns, sink, 'test.laz');
    first += chunk.points;
  }
  return records;
}

/** Writes one point of a batch as a record. */
function putRecord(v: DataView, at: number, batch: PointBatch, i: number, parts: RecordParts): void {
  v.setInt32(at, batch.x[i], true);
  v.setInt32(at + 4, batch.y[i], true);
  v.setInt32(at + 8, batch.z[i], true);
  v.setUint16(at + 12, batch.intensity[i], true);
  const flags = batch.flags[i];
  if (parts.layered) {
    v.setUint8(at + 14, batch.returnNumber[i] | (batch.returnCount[i] << 4));
    v.setUint8(at + 15, (flags & 15) | (batch.scannerChannel[i] << 4) | ((flags >> 4) << 6));
    v.setUint8(at + 16, batch.classification[i]);
    v.setUint8(at + 17, batch.userData[i]);
    v.setInt16(at + 18, batch.scanAngle[i], true);
    v.setUint16(at + 20, batch.pointSourceId[i], true);
  } else {
    v.setUint8(at + 14, batch.returnNumber[i] | (batch.returnCount[i] << 3) | ((flags >> 4) << 6));
    v.setUint8(at + 15, batch.classification[i] | ((flags & 7) << 5));
    v.setInt8(at + 16, batch.scanAngle[i]);
    v.setUint8(at + 17, batch.userData[i]);
    v.setUint16(at + 18, batch.pointSourceId[i], true);
  }
  const copy = (to: number, from: Uint8Array, length: number): void => {
    new Uint8Array(v.buffer, at + to, length).set(from.subarray(i * length, (i + 1) * length));
  };
  // As bytes: a time need not be a number that survives being read and written.
  if (parts.time >= 0) copy(parts.time, new Uint8Array(batch.gpsTime.buffer, batch.gpsTime.byteOffset), 8);
  if (parts.colour >= 0) {
    v.setUint16(at + parts.colour, batch.red[i], true);
    v.setUint16(at + parts.colour + 2, batch.green[i], true);
    v.setUint16(at + parts.colour + 4, batch.blue[i], true);
  }
  if (parts.nir >= 0) v.setUint16(at + parts.nir, batch.nir[i], true);
  if (parts.waveform >= 0) copy(parts.waveform, batch.waveform, 29);
  if (parts.extraLength > 0) copy(parts.extra, batch.extra, parts.extraLength);
}

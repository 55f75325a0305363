import { Fault } from '../fault.js';
import { decoderLayoutOf, type LazItem, type LazLayout } from './decoder/laz-layout.js';
import type { LazRule } from './format-issue.js';
import type { Header } from './header.js';
import { POINT_FORMATS } from './point-formats.js';
import type { Vlr } from './vlr.js';
import { findRecord } from './vlr.js';

/** The LAZ record ("laszip encoded", 22204): how the points are packed. */
export interface LazRecord {
  /** 2: pointwise in chunks (formats 0 to 5); 3: layered in chunks (6 to 10). 0 and 1 are not chunked. */
  compressor: number;
  coder: number;
  /** Of the writing codec. */
  version: string;
  options: number;
  /** Points a chunk, or null when every chunk has its own number. */
  chunkSize: number | null;
  items: LazItem[];
}

const RECORD_BYTES = 34;

/** Reads a LAZ record; null when it is too short for its items or has none. */
export function parseLazRecord({ payload }: Vlr): LazRecord | null {
  const view = new DataView(payload.buffer, payload.byteOffset, payload.byteLength);
  const count = payload.length >= RECORD_BYTES ? view.getUint16(32, true) : 0;
  if (count === 0 || payload.length < RECORD_BYTES + 6 * count) return null;
  const chunkSize = view.getUint32(12, true);
  return {
    compressor: view.getUint16(0, true),
    coder: view.getUint16(2, true),
    version: `${payload[4]}.${payload[5]}.${view.getUint16(6, true)}`,
    options: view.getUint32(8, true),
    chunkSize: chunkSize === 0xffffffff ? null : chunkSize,
    items: Array.from({ length: count }, (_, i) => ({
      type: view.getUint16(34 + 6 * i, true),
      size: view.getUint16(36 + 6 * i, true),
      version: view.getUint16(38 + 6 * i, true),
    })),
  };
}

/** Finds and reads the LAZ record. @throws Fault laz-record-missing, laz-record-damaged */
export function readLazRecord(vlrs: readonly Vlr[], where: string): LazRecord {
  const vlr = findRecord(vlrs, 'laszip encoded', 22204);
  if (!vlr) {
    throw new Fault({
      code: 'laz-record-missing',
      what: 'the points are compressed, but the record that says how is missing',
      where,
      expected: 'a record "laszip encoded" 22204',
      rule: 'laz-record-missing',
    });
  }
  const record = parseLazRecord(vlr);
  if (!record) {
    throw new Fault({
      code: 'laz-record-damaged',
      what: 'the record that says how the points are compressed is damaged',
      where,
      found: `${vlr.payload.length} bytes`,
      expected: `${RECORD_BYTES} + 6 bytes an item, and at least one item`,
      rule: 'laz-record-length',
    });
  }
  return record;
}

/** What the decoder must know of the file. */
export function lazLayout({ pointFormat, recordLength }: Header, { items }: LazRecord): LazLayout {
  return { format: pointFormat, items, recordLength, extraLength: recordLength - POINT_FORMATS[pointFormat].minLength };
}

/**
 * Refuses, before any point is decoded, a record that this decoder does not support: decoding would not fail but give wrong
 * points.
 * @throws Fault laz-format-unsupported, laz-record-damaged, laz-items
 */
export function checkLazRecord(record: LazRecord, header: Header, where: string): void {
  const unsupported = (rule: LazRule | undefined, what: string, found: string, expected: number) =>
    new Fault({
      code: 'laz-format-unsupported',
      what,
      where,
      found,
      expected,
      advice: 'Unpack the file to LAS, or pack it again with a current writer.',
      rule,
    });
  const { pointFormat: format } = header;
  const compressor = POINT_FORMATS[format].legacy ? 2 : 3;
  if (record.compressor !== compressor) {
    const found = `compressor ${record.compressor}`;
    throw unsupported(
      record.compressor === 1 && compressor === 2 ? undefined : 'laz-compressor',
      `this way of compressing format ${format} is not supported`,
      found,
      compressor,
    );
  }
  if (record.coder !== 0) {
    throw unsupported('laz-coder', 'the points are compressed with an unknown coder', `coder ${record.coder}`, 0);
  }
  if (record.chunkSize === 0) {
    throw new Fault({
      code: 'laz-record-damaged',
      what: 'the LAZ record says that a chunk holds no points',
      where,
      found: 0,
      expected: 'at least 1',
      rule: 'laz-chunk-size',
    });
  }
  decoderLayoutOf(lazLayout(header, record), where);
}

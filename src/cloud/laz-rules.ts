import { Fault } from '../fault.js';
import { decoderLayoutOf } from './decoder/laz-layout.js';
import { collectFormatIssues, type FormatIssue, type LazRule, type ReportIssue } from './format-issue.js';
import type { Header } from './header.js';
import { type LazRecord, lazLayout, parseLazRecord } from './laz-record.js';
import { POINT_FORMATS } from './point-formats.js';
import { findRecord, isRecord, type Vlr } from './vlr.js';

const RECORD_BYTES = 34;

/** Compares the LAZ record with the format's description (LASzip specification, "laszip VLR"). */
export function inspectLazRecord(header: Header, vlrs: readonly Vlr[], fileSize: number): FormatIssue[] {
  const { formatIssues, add } = collectFormatIssues();
  const records = vlrs.filter((v) => isRecord(v, 'laszip encoded', 22204));
  const vlr = records[0];
  if (!vlr) {
    if (header.compressed) {
      const text = 'the points are compressed, but the record that says how is missing';
      add('laz-record-missing', 100, 'none', 'a record "laszip encoded" 22204', text);
    }
    return formatIssues;
  }
  if (records.length > 1)
    add(
      'laz-record-repeated',
      records[1].offset,
      records.length,
      1,
      'more than one record says how points are compressed',
    );
  if (!header.compressed) {
    const text = 'the file carries a LAZ record though its points are not compressed';
    add('laz-record-idle', vlr.offset, 'a LAZ record', 'none', text);
    return formatIssues;
  }
  if (findRecord(vlrs, 'lascompatible', 22204)) {
    const text = 'points of a newer format are stored disguised as an older one';
    add('laz-compatibility', vlr.offset, 'compatibility mode', 'native compression', text);
  }
  const { payload } = vlr;
  const view = new DataView(payload.buffer, payload.byteOffset, payload.byteLength);
  const count = payload.length >= RECORD_BYTES ? view.getUint16(32, true) : 0;
  if (count === 0 || payload.length !== RECORD_BYTES + 6 * count) {
    const text = 'the LAZ record has another length than its items need';
    add('laz-record-length', vlr.offset + 20, payload.length, `34 + 6 an item, ${count} items`, text);
  }
  const record = parseLazRecord(vlr);
  if (!record) return formatIssues;
  inspectSetting(header, record, vlr.payloadOffset, add);
  inspectSpecial(view, vlr.payloadOffset, fileSize, add);
  return formatIssues;
}

function inspectSetting(header: Header, record: LazRecord, at: number, add: ReportIssue): void {
  const legacy = POINT_FORMATS[header.pointFormat].legacy;
  const compressors = legacy ? [1, 2] : [3];
  if (!compressors.includes(record.compressor)) {
    const text = `points of format ${header.pointFormat} are not compressed this way`;
    add('laz-compressor', at, record.compressor, compressors.join(' or '), text);
  }
  if (record.coder !== 0) add('laz-coder', at + 2, record.coder, 0, 'the points are compressed with an unknown coder');
  if (record.chunkSize === 0)
    add('laz-chunk-size', at + 12, 0, 'at least 1', 'the LAZ record says that a chunk holds no points');
  const problem = itemProblem(header, record);
  if (problem) add(problem.rule, at + 34, problem.found, problem.expected, problem.text);
}

/** Number and place of special extended records: both -1 where there are none. */
function inspectSpecial(view: DataView, at: number, fileSize: number, add: ReportIssue): void {
  const [count, place] = [view.getBigInt64(16, true), view.getBigInt64(24, true)];
  if (count === -1n && place === -1n) return;
  if (count >= 0n && place >= 0n && place <= BigInt(fileSize)) return;
  const text = 'number and place of special extended records do not belong together';
  add('laz-special-evlrs', at + 16, `${count} at ${place}`, '-1 at -1, or a place in the file', text);
}

/** What is wrong with the parts of a compressed point: their kinds and sizes, else their versions. Null when nothing is. */
function itemProblem(
  header: Header,
  record: LazRecord,
): { rule: LazRule; found: string; expected: string; text: string } | null {
  const legacy = POINT_FORMATS[header.pointFormat].legacy;
  const usual = record.items.map((item) => ({ ...item, version: legacy ? (item.type === 9 ? 1 : 2) : 3 }));
  for (const [rule, items] of [
    ['laz-items', usual],
    ['laz-item-version', record.items],
  ] as const) {
    try {
      decoderLayoutOf(lazLayout(header, { ...record, items }), '');
    } catch (error) {
      if (!(error instanceof Fault)) throw error;
      const { found, expected, what } = error.facts;
      return { rule, found: String(found), expected: String(expected), text: what };
    }
  }
  return null;
}

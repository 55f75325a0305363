import { Fault } from '../fault.js';
import { ArithmeticDecoder, IntegerDecoder } from './arithmetic-decoder.js';
import type { Piece } from './cloud.js';
import type { FormatIssue, LazRule } from './format-issue.js';
import type { Header } from './header.js';
import type { LazRecord } from './laz-record.js';
import type { Source } from './source.js';
import { grouped } from './text.js';

/** Coded bytes a chunk needs in the table at the very most: two integers of 32 bits and their widths. */
const ENTRY_BYTES_MAX = 16;

/**
 * Reads the chunk table of a LAZ file: position and number of points of every chunk.
 * Format: LASzip specification, "chunk table".
 * @param formatIssues receives violations that do not prevent reading the points
 * @throws Fault file-truncated, laz-interrupted, laz-chunk-table, laz-count-differs
 */
export async function readChunkTable(
  source: Source,
  header: Header,
  laz: LazRecord,
  formatIssues: FormatIssue[] = [],
): Promise<Piece[]> {
  const where = source.name;
  const first = header.pointOffset + 8;
  const at = await tablePosition(source, header);
  const head = await source.read(at, at + 8);
  const view = new DataView(head.buffer, head.byteOffset, 8);
  const version = view.getUint32(0, true);
  if (version !== 0) throw damaged(where, 'laz-table-version', at, 'its version is unknown', version, 0);
  const count = view.getUint32(4, true);
  // Every chunk starts with one uncompressed point, so there cannot be more chunks than this.
  const most = Math.floor((at - first) / header.recordLength);
  if (count > most) {
    const what = 'it lists more chunks than there is room for';
    throw damaged(where, 'laz-table-count', at + 4, what, count, `at most ${most}`);
  }
  const end = Math.min(source.size, at + 8 + count * ENTRY_BYTES_MAX + 64);
  const pieces = decodeTable(await source.read(at + 8, end), count, first, laz.chunkSize);
  if (header.evlrCount > 0 && header.evlrStart < at && header.evlrStart >= header.pointOffset) {
    const text = 'the extended records stand before the chunk table';
    formatIssues.push({ rule: 'laz-evlr-place', offset: 235, found: header.evlrStart, expected: `behind ${at}`, text });
  }
  return checkTable(pieces, at, header, laz, where, formatIssues);
}

async function tablePosition(source: Source, header: Header): Promise<number> {
  const where = source.name;
  const first = header.pointOffset + 8;
  const truncated = (found: string, expected: string) =>
    new Fault({
      code: 'file-truncated',
      what: `the file ends before its chunk table; its ${grouped(header.pointCount)} points cannot be reached`,
      where,
      found,
      expected,
      advice: 'The transfer was probably cut short: copy the file again.',
      rule: 'laz-table-place',
      offset: header.pointOffset,
    });
  if (first + 8 > source.size) throw truncated(`${source.size} bytes`, `more than ${first + 8}`);
  let at = readPosition(await source.read(first - 8, first));
  // A writer that cannot seek backwards leaves -1 here and writes the position in the last eight bytes.
  if (at === -1) at = readPosition(await source.read(source.size - 8, source.size));
  if (at === header.pointOffset) {
    throw new Fault({
      code: 'laz-interrupted',
      what: 'the writer of this file was interrupted before it could finish',
      where,
      found: 'no chunk table',
      advice: 'Write the file again.',
      rule: 'laz-interrupted',
      offset: header.pointOffset,
    });
  }
  if (at < first) {
    const what = 'its position lies before the points';
    throw damaged(where, 'laz-table-place', header.pointOffset, what, at, `at least ${first}`);
  }
  if (at + 8 > source.size) throw truncated(`${source.size} bytes`, `a chunk table at ${at}`);
  return at;
}

/** A signed 64-bit position; -1 stays -1, anything else negative or huge falls outside every file. */
function readPosition(bytes: Uint8Array): number {
  return Number(new DataView(bytes.buffer, bytes.byteOffset, 8).getBigInt64(0, true));
}

function decodeTable(coded: Uint8Array, count: number, first: number, chunkSize: number | null): Piece[] {
  const decoder = new ArithmeticDecoder(coded, 0);
  const integers = new IntegerDecoder(decoder, 2);
  const pieces: Piece[] = [];
  let points = 0;
  let bytes = 0;
  let begin = first;
  for (let i = 0; i < count; i++) {
    if (chunkSize === null) points = integers.decode(points, 0);
    bytes = integers.decode(bytes, 1);
    pieces.push({ begin, end: begin + bytes, points: chunkSize ?? points });
    begin += bytes;
    if (decoder.overrun > 8) break;
  }
  return pieces;
}

/** Checks that the chunks are consecutive, end before the table and add up to the point count of the header. */
function checkTable(
  pieces: Piece[],
  tableAt: number,
  header: Header,
  laz: LazRecord,
  where: string,
  formatIssues: FormatIssue[],
): Piece[] {
  const end = pieces.length > 0 ? pieces[pieces.length - 1].end : header.pointOffset + 8;
  if (end !== tableAt)
    throw damaged(where, 'laz-table-sum', tableAt, 'its chunks do not end where the table starts', end, tableAt);
  let left = header.pointCount;
  let idle = 0;
  for (const piece of pieces) {
    if (laz.chunkSize !== null) {
      if (left === 0) idle += piece.points;
      piece.points = Math.min(piece.points, left);
    }
    left -= piece.points;
    const bytes = piece.end - piece.begin;
    if (piece.points > 0 && bytes < header.recordLength) {
      const what = 'a chunk is shorter than its first point';
      throw damaged(where, 'laz-table-sum', tableAt, what, bytes, `at least ${header.recordLength}`);
    }
  }
  const text = 'the chunks hold another number of points than the header announces';
  if (left !== 0) {
    throw new Fault({
      code: 'laz-count-differs',
      what: text,
      where,
      found: `${grouped(header.pointCount - left)} points`,
      expected: `${grouped(header.pointCount)} points`,
      advice: 'The file was cut short or written wrongly: copy it again or write it again.',
      rule: 'laz-table-points',
      offset: tableAt,
    });
  }
  if (idle > 0) {
    const [found, expected] = [`up to ${header.pointCount + idle}`, header.pointCount];
    formatIssues.push({ rule: 'laz-table-points', offset: tableAt, found, expected, text });
  }
  return pieces.filter((p) => p.points > 0);
}

function damaged(
  where: string,
  rule: LazRule,
  offset: number,
  what: string,
  found: string | number,
  expected: string | number,
): Fault {
  return new Fault({
    code: 'laz-chunk-table',
    what: `the chunk table is damaged: ${what}`,
    where,
    found,
    expected,
    advice: 'Copy the file again; if that does not help, write it again.',
    rule,
    offset,
  });
}

import { Fault } from '../fault.js';
import { compareChunks } from './chunk-compare.js';
import { type ChunkFacts, ChunkGuard, chunkFault, undecodable } from './chunk-guard.js';
import type { ChunkLog, Piece, Span } from './cloud.js';
import type { Column, PointBatch } from './columns.js';
import type { CopcInfo } from './copc.js';
import { countOutsideNode, cubeOf, type NodeCube } from './copc-cube.js';
import { createLazDecoder, type LazDecoder } from './decoder/laz-decoder.js';
import type { Header } from './header.js';
import { type LazRecord, lazLayout } from './laz-record.js';
import { type Range, readAhead } from './read-ahead.js';
import type { Source } from './source.js';

/** Chunks are read together up to this many bytes. */
const READ_BYTES = 2 << 20;

/** Groups pieces, which must be in reading order, into spans of about `target` points, never cutting a piece. */
export function groupPieces(pieces: readonly Piece[], target: number): Span[] {
  const spans: Span[] = [];
  let span: Span | null = null;
  let first = 0;
  for (const [index, piece] of pieces.entries()) {
    if (!span || span.points + piece.points / 2 > target) {
      span = { first, points: 0, pieces: [] };
      spans.push(span);
    }
    span.pieces.push({ ...piece, index });
    span.points += piece.points;
    first += piece.points;
  }
  return spans;
}

/** What decoding needs to know of the file. */
export interface LazFile {
  header: Header;
  record: LazRecord;
  copc: CopcInfo | null;
  source: Source;
}

/**
 * Decodes compressed pieces (chunks or nodes). Damaged ones are passed to the log; without a log they are thrown, and the
 * decoded ones are compared with each other. See Cloud.decode.
 * @throws Fault laz-chunk-damaged and what the source throws
 */
export async function lazDecode(
  { header, record, copc, source }: LazFile,
  span: Span,
  columns: ReadonlySet<Column>,
  sink: (batch: PointBatch) => void,
  log: ChunkLog | undefined,
): Promise<void> {
  const reads = joinPieces(span.pieces);
  const decoder = idle.pop() ?? (await createLazDecoder());
  const guard = new ChunkGuard(record.chunkSize !== null);
  const decoded: ChunkFacts[] = [];
  let ordinal = span.first;
  let start = 0;
  let cube: NodeCube | null = null;
  const pass = (batch: PointBatch) => {
    batch.first += start;
    batch.outsideNode = cube === null ? 0 : countOutsideNode(cube, batch);
    guard.look(batch);
    sink(batch);
  };
  try {
    decoder.open(lazLayout(header, record), source.name);
    await readAhead(source, reads, (bytes, i) => {
      const read = reads[i];
      for (const piece of read.pieces) {
        start = ordinal;
        ordinal += piece.points;
        if (log?.without.has(piece.begin)) continue;
        const chunk = bytes.subarray(piece.begin - read.begin, piece.end - read.begin);
        cube = copc === null ? null : cubeOf(copc, header, piece);
        guard.begin(piece, start);
        if (!decodeOne(decoder, chunk, piece, start, columns, pass, source.name, log)) continue;
        const facts = guard.end();
        if (facts === null) continue;
        if (log) log.decoded(facts);
        else decoded.push(facts);
      }
    });
    const [worst] = compareChunks(header, decoded);
    if (worst) throw chunkFault(worst, source.name);
  } finally {
    idle.push(decoder);
  }
}

/** Whether the chunk could be decoded. */
function decodeOne(
  decoder: LazDecoder,
  chunk: Uint8Array,
  piece: Piece,
  first: number,
  columns: ReadonlySet<Column>,
  pass: (batch: PointBatch) => void,
  where: string,
  log: ChunkLog | undefined,
): boolean {
  try {
    decoder.chunk(chunk, piece.points, columns, pass, where);
    return true;
  } catch (error) {
    if (!(error instanceof Fault) || error.facts.code !== 'laz-chunk-damaged') throw error;
    const damaged = undecodable(piece, first, error.facts);
    if (!log) throw chunkFault(damaged, where, error);
    log.damaged(damaged);
    return false;
  }
}

/** Decoders of this thread that are not in use: one, unless spans of several files are decoded at the same time. */
const idle: LazDecoder[] = [];

interface Read extends Range {
  pieces: Piece[];
}

/** Neighbouring pieces share one read. */
function joinPieces(pieces: readonly Piece[]): Read[] {
  const reads: Read[] = [];
  let read: Read | null = null;
  for (const piece of pieces) {
    if (read && piece.begin === read.end && piece.end - read.begin <= READ_BYTES) {
      read.pieces.push(piece);
      read.end = piece.end;
    } else {
      read = { begin: piece.begin, end: piece.end, pieces: [piece] };
      reads.push(read);
    }
  }
  return reads;
}

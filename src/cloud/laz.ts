import type { Piece, Span } from './cloud.js';
import type { Column, PointBatch } from './columns.js';
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
  for (const piece of pieces) {
    if (!span || span.points + piece.points / 2 > target) {
      span = { first, points: 0, pieces: [] };
      spans.push(span);
    }
    span.pieces.push(piece);
    span.points += piece.points;
    first += piece.points;
  }
  return spans;
}

/** Decodes compressed pieces, chunks or nodes. See Cloud.decode. */
export async function lazDecode(
  header: Header,
  record: LazRecord,
  source: Source,
  span: Span,
  columns: ReadonlySet<Column>,
  sink: (batch: PointBatch) => void,
): Promise<void> {
  const reads = joinPieces(span.pieces);
  const decoder = idle.pop() ?? (await createLazDecoder());
  let ordinal = span.first;
  try {
    decoder.open(lazLayout(header, record), source.name);
    await readAhead(source, reads, (bytes, i) => {
      const read = reads[i];
      for (const piece of read.pieces) {
        const chunk = bytes.subarray(piece.begin - read.begin, piece.end - read.begin);
        const start = ordinal;
        ordinal += piece.points;
        const pass = (batch: PointBatch) => {
          batch.first += start;
          sink(batch);
        };
        decoder.chunk(chunk, piece.points, columns, pass, source.name);
      }
    });
  } finally {
    idle.push(decoder);
  }
}

/** Decoders of this thread that nobody is using: one, unless spans of several files are decoded in turns. */
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

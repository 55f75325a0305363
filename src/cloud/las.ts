import { Fault } from '../fault.js';
import type { Piece, Span } from './cloud.js';
import type { Column, PointBatch } from './columns.js';
import type { Header } from './header.js';
import { type Range, readAhead } from './read-ahead.js';
import { createFiller, recordLayout } from './record-layout.js';
import type { Source } from './source.js';
import { grouped } from './text.js';

/** Bytes read at a time. */
const READ_BYTES = 2 << 20;

/** @throws Fault file-truncated when the file has no room for the points the header announces */
export function lasSpans(header: Header, source: Source, target: number): Span[] {
  const { pointOffset, pointCount, recordLength } = header;
  const room = Math.floor((source.size - pointOffset) / recordLength);
  if (pointCount > room) {
    throw new Fault({
      code: 'file-truncated',
      what: 'the file holds fewer points than its header announces',
      where: source.name,
      found: `${grouped(room)} points`,
      expected: `${grouped(pointCount)} points`,
      advice: 'The transfer was probably cut short: copy the file again.',
      rule: 'points-beyond-file',
      offset: header.pointCountAt,
    });
  }
  const spans: Span[] = [];
  const size = Math.max(1, Math.floor(target));
  for (let first = 0; first < pointCount; first += size) {
    const points = Math.min(size, pointCount - first);
    const begin = pointOffset + first * recordLength;
    spans.push({ first, points, pieces: [{ begin, end: begin + points * recordLength, points }] });
  }
  return spans;
}

/** Decodes the pieces of an uncompressed file. See Cloud.decode. */
export async function lasDecode(
  header: Header,
  source: Source,
  span: Span,
  columns: ReadonlySet<Column>,
  sink: (batch: PointBatch) => void,
): Promise<void> {
  const layout = recordLayout(header.pointFormat, header.recordLength);
  const filler = createFiller(layout, columns, span.first, sink);
  try {
    await readAhead(source, blocks(span.pieces, header.recordLength), (bytes) => {
      filler.append(bytes, bytes.byteLength / header.recordLength);
    });
    filler.flush();
  } finally {
    filler.close();
  }
}

/** Cuts pieces into ranges of whole records. */
function blocks(pieces: readonly Piece[], recordLength: number): Range[] {
  const step = Math.max(1, Math.floor(READ_BYTES / recordLength)) * recordLength;
  const ranges: Range[] = [];
  for (const piece of pieces) {
    for (let begin = piece.begin; begin < piece.end; begin += step)
      ranges.push({ begin, end: Math.min(begin + step, piece.end) });
  }
  return ranges;
}

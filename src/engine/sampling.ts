import type { Cloud, Piece, Span } from '../cloud/cloud.js';

/** Number of consecutive points of an uncompressed file that are taken or left out together. */
const SAMPLE_POINTS = 50_000;

/**
 * Spans for a quick look at a part of the points: the upper levels of a COPC octree; for a share of 0.1, every tenth chunk
 * of a LAZ file, or every tenth run of SAMPLE_POINTS points of a LAS file. At least one piece of every file is taken.
 * @param target about so many points in a span
 * @param share share of the points to read, between 0 and 1
 * @throws Fault where the chunk table or the octree of the file cannot be read
 */
export async function sampleSpans(cloud: Cloud, target: number, share: number): Promise<Span[]> {
  const pieces = (await cloud.spans(SAMPLE_POINTS)).flatMap((span) => span.pieces);
  const taken = pieces.some((piece) => piece.level !== undefined)
    ? upperLevels(pieces, share)
    : everyNth(pieces, share);
  return groupPieces(taken, target);
}

function upperLevels(pieces: readonly Piece[], share: number): Piece[] {
  const wanted = share * pieces.reduce((sum, piece) => sum + piece.points, 0);
  const byLevel = [...pieces].sort((a, b) => (a.level ?? 0) - (b.level ?? 0) || a.begin - b.begin);
  const taken: Piece[] = [];
  let points = 0;
  for (const piece of byLevel) {
    if (taken.length > 0 && points >= wanted) break;
    taken.push(piece);
    points += piece.points;
  }
  return taken.sort((a, b) => a.begin - b.begin);
}

function everyNth(pieces: readonly Piece[], share: number): Piece[] {
  return pieces.filter((_, i) => i === 0 || Math.floor(i * share) > Math.floor((i - 1) * share));
}

function groupPieces(pieces: readonly Piece[], target: number): Span[] {
  const spans: Span[] = [];
  let first = 0;
  for (const piece of pieces) {
    const last = spans[spans.length - 1];
    if (last && last.points + piece.points <= target) {
      last.pieces.push(piece);
      last.points += piece.points;
    } else spans.push({ first, points: piece.points, pieces: [piece] });
    first += piece.points;
  }
  return spans;
}

import type { Cloud, Piece, Span } from '../cloud/cloud.js';
import { type NodeSquare, nodeSquare } from '../cloud/copc-cube.js';

/** An uncompressed file is cut so finely that a sample has about so many pieces: few pieces tell little about a whole. */
const LAS_PIECES = 200;
/** Consecutive points of an uncompressed file that are taken or left out together, at least and at the most. */
const FEWEST_POINTS = 16;
const MOST_POINTS = 50_000;

/** The part of a file that a quick look reads. */
export interface Sample {
  spans: Span[];
  /** Runs of records, chunks or nodes that are read. */
  pieces: number;
  /** COPC: the nodes that are not read, each as a square on the ground, in the unit of the file; else null. */
  unread: NodeSquare[] | null;
}

/**
 * Spans for a quick look at a part of the points: whole upper levels of a COPC octree and some nodes of the next; for a
 * share of 0.1, one of ten chunks of a LAZ file, or one of ten runs of records of a LAS file. Which one of the ten is drawn
 * by a fixed rule, because points that come at regular steps may all be of one kind. At least one piece of every file is taken.
 * @param target about so many points in a span
 * @param share share of the points to read, between 0 and 1
 * @throws Fault where the chunk table or the octree of the file cannot be read
 */
export async function sampleSpans(cloud: Cloud, target: number, share: number): Promise<Sample> {
  const { header, copc } = cloud;
  const run = Math.floor((header.pointCount * share) / LAS_PIECES);
  const pieces = (await cloud.spans(Math.min(MOST_POINTS, Math.max(FEWEST_POINTS, run)))).flatMap(
    (span) => span.pieces,
  );
  const taken = copc === null ? takeShare(pieces, share) : upperLevels(pieces, share);
  if (taken.length === 0 && pieces.length > 0) taken.push(pieces[0]);
  const read = new Set(taken);
  const unread = copc === null ? null : pieces.filter((piece) => !read.has(piece)).map((p) => nodeSquare(copc, p));
  return { spans: groupPieces(taken, target), pieces: taken.length, unread };
}

/** Whole levels, coarsest first, as far as the share goes, and a share of the nodes of the next level. */
function upperLevels(pieces: readonly Piece[], share: number): Piece[] {
  const levels = new Map<number, Piece[]>();
  for (const piece of pieces) {
    const level = piece.level ?? 0;
    const known = levels.get(level);
    if (known) known.push(piece);
    else levels.set(level, [piece]);
  }
  let left = share * pointsOf(pieces);
  const taken: Piece[] = [];
  for (const level of [...levels.keys()].sort((a, b) => a - b)) {
    const nodes = levels.get(level)!.sort((a, b) => a.begin - b.begin);
    const points = pointsOf(nodes);
    // The coarsest level, one node, is always taken.
    const some = taken.length === 0 || points <= left ? nodes : takeShare(nodes, left / points);
    for (const piece of some) taken.push(piece);
    left -= pointsOf(some);
    if (some.length < nodes.length) break;
  }
  return taken.sort((a, b) => a.begin - b.begin);
}

function pointsOf(pieces: readonly Piece[]): number {
  return pieces.reduce((sum, piece) => sum + piece.points, 0);
}

/** One piece of each group of 1 / share pieces; of a share above a half, what the opposite share leaves. */
function takeShare(pieces: readonly Piece[], share: number): Piece[] {
  if (!(share > 0)) return [];
  if (share >= 1) return [...pieces];
  if (share > 0.5) {
    const left = new Set(takeShare(pieces, 1 - share));
    return pieces.filter((piece) => !left.has(piece));
  }
  const taken: Piece[] = [];
  for (let group = 0, begin = 0; begin < pieces.length; group++) {
    const end = Math.floor((group + 1) / share);
    const at = begin + Math.floor(drawn(group, pieces.length) * (end - begin));
    if (at < pieces.length) taken.push(pieces[at]);
    begin = end;
  }
  return taken;
}

/** A fixed number from 0 to below 1 for a group, without a pattern from one group to the next. */
function drawn(group: number, pieces: number): number {
  let hash = Math.imul(group + 1, 0x9e3779b1) ^ Math.imul(pieces, 0x85ebca6b);
  hash = Math.imul(hash ^ (hash >>> 16), 0x7feb352d);
  hash = Math.imul(hash ^ (hash >>> 15), 0x846ca68b);
  return ((hash ^ (hash >>> 16)) >>> 0) / 4294967296;
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

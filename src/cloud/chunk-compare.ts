import { type ChunkFacts, type DamagedChunk, damagedChunk, type Guard } from './chunk-guard.js';
import { Encoding, type Header } from './header.js';

/*
 * Chunks of a file against its header and against one another:
 *
 * - place: all its points lie outside the header's box, farther away than the box is large, while another chunk lies inside;
 * - times: all its times are impossible in the header's kind of GPS time, while as many chunks have possible ones;
 * - order: it alone breaks an order in time that the chunks around it keep;
 * - returns: its first point has a return number that cannot be, and no other chunk has any such point.
 *
 * Each needs evidence from the other chunks of the file, so that a wrong header alone does not make a chunk damaged.
 */

const WEEK_SECONDS = 604_800;
/** Adjusted standard GPS time: seconds since 6 January 1980 less a billion; up to the year 2138. */
const STANDARD_TIMES = [-1e9, 4e9] as const;
/** Order of time is examined among so many chunks before and after: a file may contain one pass after the other. */
const NEIGHBOURS = 10;
/** It counts as an order only when at least so many chunks are in order. */
const ORDERED_CHUNKS = 5;
/** Impossible return numbers are only evidence in a chunk of at least so many points, among so many chunks. */
const TELLING_POINTS = 500;
const WITNESSES = 3;

interface Accused {
  chunks: ChunkFacts[];
  guard: Guard;
  what: string;
}

/** The damaged chunks, in file order. @param chunks all decoded chunks of one file, in file order */
export function compareChunks(
  header: Pick<Header, 'min' | 'max' | 'scale' | 'offset' | 'globalEncoding' | 'versionMinor'>,
  chunks: readonly ChunkFacts[],
): DamagedChunk[] {
  const found: DamagedChunk[] = [];
  let rest = chunks;
  for (;;) {
    const accused =
      displaced(header, rest) ?? impossibleTimes(header, rest) ?? outOfOrder(rest) ?? isolatedReturn(rest);
    if (accused === null) return found.sort((a, b) => a.begin - b.begin);
    for (const chunk of accused.chunks) found.push(damagedChunk(chunk, accused.guard, accused.what));
    // Once a chunk is excluded, another one may be found to be out of position.
    const known = new Set(accused.chunks);
    rest = rest.filter((chunk) => !known.has(chunk));
  }
}

type Placed = Pick<Header, 'min' | 'max' | 'scale' | 'offset'>;

function displaced(header: Placed, chunks: readonly ChunkFacts[]): Accused | null {
  const { min, max } = header;
  const reach = Math.max(...[0, 1, 2].map((i) => max[i] - min[i]));
  if (!(reach >= 0 && reach < Infinity)) return null;
  const far: ChunkFacts[] = [];
  let inside = 0;
  for (const chunk of chunks) {
    const gaps = [0, 1, 2].map((i) => gapAlong(i, header, chunk.box));
    if (gaps.some((gap) => gap > reach)) far.push(chunk);
    else if (gaps.every((gap) => gap <= 0)) inside++;
  }
  if (far.length === 0 || inside < far.length) return null;
  return { chunks: far, guard: 'place', what: 'all its points lie far outside the extent in the header' };
}

/** Distance along an axis between the chunk's points and the header's box; not above zero where they overlap. */
function gapAlong(i: number, { scale, offset, min, max }: Placed, box: Float64Array): number {
  const ends = [box[i] * scale[i] + offset[i], box[i + 3] * scale[i] + offset[i]];
  const [low, high] = scale[i] < 0 ? [ends[1], ends[0]] : ends;
  return Math.max(low - max[i], min[i] - high);
}

function impossibleTimes(
  { globalEncoding, versionMinor }: Pick<Header, 'globalEncoding' | 'versionMinor'>,
  chunks: readonly ChunkFacts[],
): Accused | null {
  const standard = (globalEncoding & Encoding.standardGpsTime) !== 0 && versionMinor >= 2;
  const [low, high] = standard ? STANDARD_TIMES : [0, WEEK_SECONDS];
  const possible = (c: ChunkFacts) => c.timeless === 0 && c.timeMin >= low && c.timeMax <= high;
  const impossible = (c: ChunkFacts) => c.timeless > 0 || c.timeMin > high || c.timeMax < low;
  const timed = chunks.filter((c) => c.timeMax > Number.NEGATIVE_INFINITY || c.timeless > 0);
  const accused = timed.filter(impossible);
  if (accused.length === 0 || timed.filter(possible).length < accused.length) return null;
  return { chunks: accused, guard: 'times', what: 'its GPS times are impossible, those of other chunks are not' };
}

function outOfOrder(chunks: readonly ChunkFacts[]): Accused | null {
  const found: ChunkFacts[] = [];
  // The first and the last have one neighbour only, and may be another pass.
  for (let k = 1; k < chunks.length - 1; k++) {
    const [before, accused, behind] = [chunks[k - 1], chunks[k], chunks[k + 1]];
    const outside = accused.timeMax < before.timeMax || accused.timeMin > behind.timeMin;
    if (!outside) continue;
    const around = chunks.slice(Math.max(0, k - NEIGHBOURS), k + NEIGHBOURS + 1);
    if (around.length < ORDERED_CHUNKS || !around.every(isTimed)) continue;
    if (!ascends(around.filter((chunk) => chunk !== accused))) continue;
    found.push(accused);
    // The chunks near it are compared again without it.
    k += NEIGHBOURS;
  }
  if (found.length === 0) return null;
  return {
    chunks: found,
    guard: 'order',
    what: 'its GPS times do not fit between those of the chunks before and behind it',
  };
}

function isTimed({ even, timeMax, timeless }: ChunkFacts): boolean {
  return even && timeMax > Number.NEGATIVE_INFINITY && timeless === 0;
}

/** Whether times ascend within each chunk and from chunk to chunk. */
function ascends(chunks: readonly ChunkFacts[]): boolean {
  let last = Number.NEGATIVE_INFINITY;
  for (const chunk of chunks) {
    if (chunk.backward > 0 || chunk.timeMin < last) return false;
    last = chunk.timeMax;
  }
  return true;
}

function isolatedReturn(chunks: readonly ChunkFacts[]): Accused | null {
  if (chunks.length < WITNESSES || !chunks.some((c) => c.hasReturns)) return null;
  const wrong = chunks.filter((c) => c.impossibleReturns > 0);
  if (wrong.length !== 1) return null;
  const [chunk] = wrong;
  if (!chunk.firstImpossible || chunk.piece.points < TELLING_POINTS) return null;
  const what = 'it begins with an impossible return number, and no other chunk has any';
  return { chunks: [chunk], guard: 'returns', what };
}

import { Fault } from '../fault.js';
import type { Piece } from './cloud.js';
import type { PointBatch } from './columns.js';
import { Encoding, type Header } from './header.js';
import { grouped } from './text.js';

/*
 * Guards against damage that the decoder cannot see. It vouches for everything that is coded: a stream whose symbols were
 * changed does not end where its bytes end, within the interval that an encoder leaves. But the first point of every chunk
 * is stored as it is, outside the streams, and the following ones are differences to it: one changed bit there moves the
 * whole chunk. So a chunk is compared with the header and with the other chunks of its span:
 *
 * - place: all its points lie outside the header's box, farther away than the box is large, while another chunk lies inside;
 * - time: all its times are impossible in the header's kind of GPS time, or it alone breaks an order in time that all other
 *   chunks keep, while the others are as they should be;
 * - return: its first point has a return number that cannot be, and no other chunk has any such point.
 *
 * Each asks for a witness among the other chunks, so that a header that is merely wrong accuses nobody.
 */

/** What is remembered of a chunk. */
interface ChunkFacts {
  piece: Piece;
  /** Ordinal of its first point. */
  first: number;
  /** Raw: min x, y, z, max x, y, z. */
  box: Float64Array;
  timeMin: number;
  timeMax: number;
  /** Steps back in time from one point to the next. */
  backward: number;
  /** Times that are no number. */
  timeless: number;
  impossibleReturns: number;
  firstImpossible: boolean;
}

const WEEK_SECONDS = 604_800;
/** Adjusted standard GPS time: seconds since 6 January 1980 less a billion; up to the year 2138. */
const STANDARD_TIMES = [-1e9, 4e9] as const;
/** Chunks of fewer points are not compared: a million of them would cost more memory than they are worth. */
const LEAST_POINTS = 50;
/** Chunks tried as the one out of order: a displaced one makes its neighbours look displaced too, no more. */
const TRIES = 3;
/** An order in time is only believed when so many chunks keep it. */
const ORDERED_CHUNKS = 5;
/** Impossible return numbers are only telling in a chunk of so many points, among so many chunks. */
const TELLING_POINTS = 500;
const WITNESSES = 3;

/** Looks at decoded chunks of one span, then judges them against each other. */
export class ChunkGuard {
  private readonly chunks: ChunkFacts[] = [];
  private current: ChunkFacts | null = null;
  private lastTime = Number.NEGATIVE_INFINITY;
  private hasReturns = false;

  /**
   * @param even whether all chunks have the same number of points: only then is a chunk no unit of the writer's own choice,
   * such as a pass or a node, and an order in time between chunks means something
   */
  constructor(
    private readonly header: Header,
    private readonly even: boolean,
  ) {}

  /** A new chunk begins. */
  begin(piece: Piece, first: number): void {
    this.current = null;
    if (piece.points < LEAST_POINTS) return;
    this.current = {
      piece,
      first,
      box: Float64Array.of(Infinity, Infinity, Infinity, -Infinity, -Infinity, -Infinity),
      timeMin: Number.POSITIVE_INFINITY,
      timeMax: Number.NEGATIVE_INFINITY,
      backward: 0,
      timeless: 0,
      impossibleReturns: 0,
      firstImpossible: false,
    };
    this.chunks.push(this.current);
    this.lastTime = Number.NEGATIVE_INFINITY;
  }

  /** Takes in a block of points of the current chunk, before it is handed on. */
  look(batch: PointBatch): void {
    const facts = this.current;
    if (facts === null) return;
    const fresh = facts.box[0] === Infinity;
    widen(facts.box, 0, batch.x, batch.count);
    widen(facts.box, 1, batch.y, batch.count);
    widen(facts.box, 2, batch.z, batch.count);
    if (batch.has.has('gpsTime')) this.lookAtTimes(facts, batch);
    if (!batch.has.has('returns')) return;
    this.hasReturns = true;
    const { returnNumber, returnCount } = batch;
    let impossible = 0;
    for (let i = 0; i < batch.count; i++) {
      if (returnNumber[i] === 0 || returnNumber[i] > returnCount[i]) impossible++;
    }
    facts.impossibleReturns += impossible;
    if (fresh) facts.firstImpossible = returnNumber[0] === 0 || returnNumber[0] > returnCount[0];
  }

  private lookAtTimes(facts: ChunkFacts, { gpsTime, count }: PointBatch): void {
    let { timeMin, timeMax, backward, timeless } = facts;
    let last = this.lastTime;
    for (let i = 0; i < count; i++) {
      const t = gpsTime[i];
      if (t < timeMin) timeMin = t;
      if (t > timeMax) timeMax = t;
      if (t < last) backward++;
      // True for NaN and for the infinities.
      if (!(t - t === 0)) timeless++;
      last = t;
    }
    facts.timeMin = timeMin;
    facts.timeMax = timeMax;
    facts.backward = backward;
    facts.timeless = timeless;
    this.lastTime = last;
  }

  /** Compares the chunks. @throws Fault laz-chunk-damaged for the first that cannot be right */
  judge(where: string): void {
    const { chunks } = this;
    const found = this.displaced() ?? this.impossibleTimes() ?? this.outOfOrder() ?? this.lonelyReturn();
    this.current = null;
    if (found === null) return;
    const { chunk, what } = found;
    chunks.length = 0;
    throw chunkFault({ code: 'laz-chunk-damaged', what: `a compressed chunk is damaged: ${what}`, where }, chunk);
  }

  private displaced(): Accused | null {
    const { min, max } = this.header;
    const reach = Math.max(...[0, 1, 2].map((i) => max[i] - min[i]));
    if (!(reach >= 0 && reach < Infinity)) return null;
    const far: ChunkFacts[] = [];
    let inside = 0;
    for (const chunk of this.chunks) {
      const gaps = [0, 1, 2].map((i) => this.gap(chunk.box, i));
      if (gaps.some((gap) => gap > reach)) far.push(chunk);
      else if (gaps.every((gap) => gap <= 0)) inside++;
    }
    if (far.length === 0 || inside < far.length) return null;
    return { chunk: far[0], what: 'all its points lie far outside the extent in the header' };
  }

  /** Distance along an axis between the chunk's points and the header's box; not above zero where they overlap. */
  private gap(box: Float64Array, i: number): number {
    const { scale, offset, min, max } = this.header;
    const ends = [box[i] * scale[i] + offset[i], box[i + 3] * scale[i] + offset[i]];
    const [low, high] = scale[i] < 0 ? [ends[1], ends[0]] : ends;
    return Math.max(low - max[i], min[i] - high);
  }

  private impossibleTimes(): Accused | null {
    const standard = (this.header.globalEncoding & Encoding.standardGpsTime) !== 0 && this.header.versionMinor >= 2;
    const [low, high] = standard ? STANDARD_TIMES : [0, WEEK_SECONDS];
    const possible = (c: ChunkFacts) => c.timeless === 0 && c.timeMin >= low && c.timeMax <= high;
    const impossible = (c: ChunkFacts) => c.timeless > 0 || c.timeMin > high || c.timeMax < low;
    const timed = this.chunks.filter((c) => c.timeMax > Number.NEGATIVE_INFINITY || c.timeless > 0);
    const accused = timed.filter(impossible);
    if (accused.length === 0 || timed.filter(possible).length < accused.length) return null;
    return { chunk: accused[0], what: 'its GPS times are impossible, those of other chunks are not' };
  }

  private outOfOrder(): Accused | null {
    const { chunks } = this;
    if (!this.even || chunks.length < ORDERED_CHUNKS) return null;
    if (!chunks.every((c) => c.timeMax > Number.NEGATIVE_INFINITY && c.timeless === 0)) return null;
    // The first and the last have one neighbour only, and may be another pass.
    let tries = 0;
    for (let k = 1; k < chunks.length - 1 && tries < TRIES; k++) {
      const [before, accused, behind] = [chunks[k - 1], chunks[k], chunks[k + 1]];
      const outside = accused.timeMax < before.timeMax || accused.timeMin > behind.timeMin;
      if (!outside) continue;
      tries++;
      if (!ascends(chunks, k)) continue;
      return { chunk: accused, what: 'its GPS times do not fit between those of the chunks before and behind it' };
    }
    return null;
  }

  private lonelyReturn(): Accused | null {
    const { chunks } = this;
    if (!this.hasReturns || chunks.length < WITNESSES) return null;
    const wrong = chunks.filter((c) => c.impossibleReturns > 0);
    if (wrong.length !== 1) return null;
    const [chunk] = wrong;
    if (!chunk.firstImpossible || chunk.piece.points < TELLING_POINTS) return null;
    return { chunk, what: 'it begins with an impossible return number, and no other chunk has any' };
  }
}

/** Whether all chunks but one are in order of time, in themselves and one behind the other. */
function ascends(chunks: readonly ChunkFacts[], without: number): boolean {
  let last = Number.NEGATIVE_INFINITY;
  for (const [i, chunk] of chunks.entries()) {
    if (i === without) continue;
    if (chunk.backward > 0 || chunk.timeMin < last) return false;
    last = chunk.timeMax;
  }
  return true;
}

interface Accused {
  chunk: ChunkFacts;
  what: string;
}

function widen(box: Float64Array, i: number, raw: Int32Array, count: number): void {
  let low = box[i];
  let high = box[i + 3];
  for (let k = 0; k < count; k++) {
    const r = raw[k];
    if (r < low) low = r;
    if (r > high) high = r;
  }
  box[i] = low;
  box[i + 3] = high;
}

/** The fault of one chunk, saying which points and bytes it concerns. */
export function chunkFault(
  facts: { code: string; what: string; where: string; found?: string | number; expected?: string | number },
  { piece, first }: { piece: Piece; first: number },
  cause?: unknown,
): Fault {
  const points = `points ${grouped(first + 1)} to ${grouped(first + piece.points)}, bytes ${grouped(piece.begin)} to ${grouped(piece.end)}`;
  return new Fault(
    {
      ...facts,
      what: `${facts.what} (${points})`,
      advice: 'Copy the file again; if that does not help, write it again',
      rule: 'laz-chunk',
      offset: piece.begin,
    },
    cause,
  );
}

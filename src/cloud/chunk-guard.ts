import { Fault, type FaultFacts } from '../fault.js';
import type { PointBatch } from './columns.js';
import type { Piece } from './piece.js';
import { grouped } from './text.js';

/*
 * Guards against damage that the decoder cannot detect. The decoder detects changes in coded data: such a stream does not
 * end where its bytes end, or not within the interval that an encoder leaves. But the first point of every chunk is stored
 * uncompressed, and the following points are differences from it: one changed bit there moves the whole chunk. Therefore
 * facts about the points of every chunk are recorded and compared with the header and with the other chunks of the file
 * (chunk-compare.ts).
 */

/** Facts about a decoded chunk. Plain data, so that it can be sent between threads. */
export interface ChunkFacts {
  piece: Piece;
  /** Ordinal of its first point. */
  first: number;
  /**
   * Whether all chunks of the file have the same number of points. Otherwise a chunk may be a unit chosen by the writer, such
   * as a pass or a node, and chunks need not be in order of time.
   */
  even: boolean;
  /** Raw: min x, y, z, max x, y, z. */
  box: Float64Array;
  timeMin: number;
  timeMax: number;
  /** Steps back in time from one point to the next. */
  backward: number;
  /** Number of times that are not finite. */
  timeless: number;
  /** Whether return numbers were read. */
  hasReturns: boolean;
  impossibleReturns: number;
  firstImpossible: boolean;
}

/** The guard that found the damage: the decoder, or a comparison with the header and other chunks. */
export type Guard = 'coding' | 'place' | 'times' | 'order' | 'returns';

/** A damaged chunk. */
export interface DamagedChunk {
  /** Ordinal in the file, from 0. */
  index: number;
  /** Ordinal of its first point, and how many there are. */
  first: number;
  points: number;
  /** Absolute byte positions in the file. */
  begin: number;
  end: number;
  guard: Guard;
  /** How the damage was found. */
  what: string;
  /** The same, with chunk, points and bytes. */
  text: string;
  found?: string | number;
  expected?: string | number;
}

/** Chunks with fewer points are not compared: the facts of a million small chunks would need too much memory. */
const LEAST_POINTS = 50;
const DAMAGED = 'a compressed chunk is damaged';

/** Records facts about decoded points, chunk by chunk. */
export class ChunkGuard {
  private current: ChunkFacts | null = null;
  private lastTime = Number.NEGATIVE_INFINITY;

  /** @param even see ChunkFacts */
  constructor(private readonly even: boolean) {}

  /** A new chunk begins. */
  begin(piece: Piece, first: number): void {
    this.current = null;
    if (piece.points < LEAST_POINTS) return;
    this.current = {
      piece,
      first,
      even: this.even,
      box: Float64Array.of(Infinity, Infinity, Infinity, -Infinity, -Infinity, -Infinity),
      timeMin: Number.POSITIVE_INFINITY,
      timeMax: Number.NEGATIVE_INFINITY,
      backward: 0,
      timeless: 0,
      hasReturns: false,
      impossibleReturns: 0,
      firstImpossible: false,
    };
    this.lastTime = Number.NEGATIVE_INFINITY;
  }

  /** Adds a batch of points of the current chunk, before it is passed on. */
  look(batch: PointBatch): void {
    const facts = this.current;
    if (facts === null) return;
    const fresh = facts.box[0] === Infinity;
    widen(facts.box, 0, batch.x, batch.count);
    widen(facts.box, 1, batch.y, batch.count);
    widen(facts.box, 2, batch.z, batch.count);
    if (batch.has.has('gpsTime')) this.lookAtTimes(facts, batch);
    if (!batch.has.has('returns')) return;
    facts.hasReturns = true;
    const { returnNumber, returnCount } = batch;
    let impossible = 0;
    for (let i = 0; i < batch.count; i++) {
      if (returnNumber[i] === 0 || returnNumber[i] > returnCount[i]) impossible++;
    }
    facts.impossibleReturns += impossible;
    if (fresh) facts.firstImpossible = returnNumber[0] === 0 || returnNumber[0] > returnCount[0];
  }

  /** Ends the chunk. @returns its facts, or null when it is too small to be compared */
  end(): ChunkFacts | null {
    const facts = this.current;
    this.current = null;
    return facts;
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

/** The damaged chunk of a fault that the decoder threw. */
export function undecodable(piece: Piece, first: number, { what, found, expected }: FaultFacts): DamagedChunk {
  return damagedChunk({ piece, first }, 'coding', what.replace(`${DAMAGED}: `, ''), { found, expected });
}

/** A damaged chunk with its text. */
export function damagedChunk(
  { piece, first }: Pick<ChunkFacts, 'piece' | 'first'>,
  guard: Guard,
  what: string,
  more: Pick<DamagedChunk, 'found' | 'expected'> = {},
): DamagedChunk {
  const { index = 0, points, begin, end } = piece;
  const place = { index, first, points, begin, end };
  return { ...place, guard, what, text: `${DAMAGED}: ${what} (${placeOfChunk(place)})`, ...more };
}

/** Which chunk it is, which points and bytes it concerns: `chunk 4, points 1,801 to 2,400, bytes 9,000 to 9,800`. */
export function placeOfChunk({
  index,
  first,
  points,
  begin,
  end,
}: Pick<DamagedChunk, 'index' | 'first' | 'points' | 'begin' | 'end'>): string {
  return `chunk ${grouped(index + 1)}, points ${grouped(first + 1)} to ${grouped(first + points)}, bytes ${grouped(begin)} to ${grouped(end)}`;
}

/** The fault of one chunk. */
export function chunkFault(chunk: DamagedChunk, where: string, cause?: unknown): Fault {
  const { text, found, expected, begin } = chunk;
  return new Fault(
    {
      code: 'laz-chunk-damaged',
      where,
      what: text,
      ...(found === undefined ? {} : { found }),
      ...(expected === undefined ? {} : { expected }),
      advice: 'Copy the file again; if that does not help, write it again',
      rule: 'laz-chunk',
      offset: begin,
    },
    cause,
  );
}

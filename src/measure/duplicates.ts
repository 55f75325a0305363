import type { Column } from '../cloud/columns.js';
import { KeySample } from './cells/key-sample.js';
import { headerBytes, type PackedHeader, readHeader, writeHeader } from './cells/packed-header.js';
import { type MaskArea, markInside, zoneMaskOf } from './cells/zone-mask.js';
import { type MeasuredBatch, type Measurement, QUANTA_PER_METRE } from './contract/measurement.js';

/** What makes two points equal, and how large the compared sample is. */
export interface DuplicatesParams {
  /** What makes points the same: place (0.1 mm), or place, GPS time and return number. */
  same: 'xyz' | 'xyz-time-return';
  /**
   * What is drawn into the sample: places, each with all its points; or points, one by one. One place that holds a large
   * part of the cloud is most likely missed by the first, and found by the second.
   */
  draw: 'places' | 'points';
  /** Different places (or points) held at most. */
  most: number;
  /** Where the sample begins: one in 2^level; 0 compares everything as long as there is room. */
  level: number;
  /** Points outside are not looked at; null: all are. */
  within: MaskArea | null;
}

/** The sample that is compared, while it is collected. */
export interface DuplicatesState {
  params: DuplicatesParams;
  /** Points that were offered to the sample. */
  points: number;
  sample: KeySample;
}

/** What was found in the sample: one in 2^level of the places, or of the points. */
export interface Duplicates {
  level: number;
  /** Points looked at, and points in the sample. */
  points: number;
  sampled: number;
  /** Places (with time and return) in the sample that hold several points. */
  places: number;
  /** Points in the sample beyond the first of their place. */
  surplus: number;
  /** Surplus by pair of files, `a` <= `b`; the same file twice: within it. Sorted by number, the largest first. */
  pairs: { a: number; b: number; points: number }[];
  /** Places with the most points in the sample, world metres; `files` are ordinals. */
  worst: { x: number; y: number; z: number; points: number; files: number[] }[];
}

const HEADER = { id: 'duplicates', version: 2 } as const satisfies PackedHeader;
const POINTS_AT = headerBytes(3);
const LISTED = 25;
/** Low words of x, y and z, high parts of x and y; time in two words, return number; file; for points the ordinal in two. */
const FILE = 7;
const ORDINAL = 8;
const TWO_32 = 4_294_967_296;
const widthOf = (draw: DuplicatesParams['draw']) => (draw === 'points' ? ORDINAL + 2 : ORDINAL);

/**
 * Points that are the same. To find every one of them, every point would have to be kept; so the sample is bounded, and it is
 * complete while the cloud is no larger than it. Whether a place is in the sample follows from its coordinates alone, so
 * all its points are, whichever file they are in: what is found is exact for those places, and unbiased for the rest.
 */
export const duplicates: Measurement<'duplicates', DuplicatesParams, DuplicatesState, Duplicates> = {
  id: HEADER.id,
  parameters: { same: 'required', draw: 'required', most: 'required', level: 'required', within: 'required' },
  version: HEADER.version,
  columns: ({ same }): readonly Column[] => (same === 'xyz' ? [] : ['gpsTime', 'returns']),
  create: (params) => ({ params, points: 0, sample: new KeySample(widthOf(params.draw), params.most, params.level) }),
  add: addBatch,

  pack({ points, sample }) {
    const order = sample.sorted();
    const { width } = sample;
    const { hashesAt, keysAt, countsAt } = placesOf(order.length, width);
    const buffer = new ArrayBuffer(countsAt + order.length * 8);
    writeHeader(buffer, HEADER, [order.length, sample.level], [width]);
    new Float64Array(buffer, POINTS_AT, 1)[0] = points;
    const hashes = new Uint32Array(buffer, hashesAt, order.length);
    const keys = new Int32Array(buffer, keysAt, order.length * width);
    const counts = new Float64Array(buffer, countsAt, order.length);
    for (let k = 0; k < order.length; k++) {
      hashes[k] = sample.hash(order[k]);
      counts[k] = sample.count(order[k]);
      for (let w = 0; w < width; w++) keys[k * width + w] = sample.part(order[k], w);
    }
    return buffer;
  },

  merge(state, packed) {
    const { width } = state.sample;
    const [size, level] = readHeader(packed, HEADER, 2, [width]);
    const { hashesAt, keysAt, countsAt } = placesOf(size, width);
    state.points += new Float64Array(packed, POINTS_AT, 1)[0];
    state.sample.raiseTo(level);
    const hashes = new Uint32Array(packed, hashesAt, size);
    const keys = new Int32Array(packed, keysAt, size * width);
    const counts = new Float64Array(packed, countsAt, size);
    // By hash, ascending: the first that is too large ends it.
    for (let k = 0; k < size && state.sample.takes(hashes[k]); k++)
      state.sample.add(hashes[k], keys, k * width, counts[k]);
  },

  finish: ({ points, sample, params }) => {
    const found: Duplicates = { level: sample.level, points, sampled: 0, places: 0, surplus: 0, pairs: [], worst: [] };
    const pairs = new Map<string, { a: number; b: number; points: number }>();
    const order = orderOf(sample, params.draw);
    for (let from = 0; from < order.length; ) {
      let to = from + 1;
      while (to < order.length && samePlace(sample, order[from], order[to])) to++;
      addPlace(found, pairs, sample, order.subarray(from, to));
      from = to;
    }
    found.pairs = [...pairs.values()].sort((p, q) => q.points - p.points || p.a - q.a || p.b - q.b);
    found.worst = found.worst.sort(worse).slice(0, LISTED);
    return found;
  },
};

/** Where the columns of packed places begin, bytes. */
function placesOf(places: number, width: number): { hashesAt: number; keysAt: number; countsAt: number } {
  const hashesAt = POINTS_AT + 8;
  const keysAt = hashesAt + places * 4;
  return { hashesAt, keysAt, countsAt: hashesAt + Math.ceil((places * (1 + width)) / 2) * 8 };
}

// Scratch of this thread, reused by every batch.
const key = new Int32Array(ORDINAL + 2);
let inside = new Uint8Array(0);

function addBatch(state: DuplicatesState, batch: MeasuredBatch): void {
  const { params, sample } = state;
  const { east, north, up, valid, count, file, points, box } = batch;
  const { gpsTime, returnNumber, first } = points;
  let marked = valid;
  if (params.within) {
    if (inside.length < count) inside = new Uint8Array(count);
    markInside(zoneMaskOf(params.within), batch, valid, inside);
    marked = inside;
  }
  const drawPoints = params.draw === 'points';
  const timed = params.same === 'xyz-time-return';
  const times =
    timed && points.has.has('gpsTime') ? new Int32Array(gpsTime.buffer, gpsTime.byteOffset, 2 * count) : null;
  // The high words of coordinates change every 429 km: not within a batch, or hardly ever.
  const steady = highOf(box[0], box[1]) === highOf(box[3], box[4]);
  let high = highOf(box[0], box[1]);
  let looked = 0;
  for (let i = 0; i < count; i++) {
    const x = east[i];
    const y = north[i];
    const z = up[i];
    // A coordinate that is no number is the same as no other.
    if (marked[i] === 0 || x - x !== 0 || y - y !== 0 || z - z !== 0) continue;
    looked++;
    if (!steady) high = highOf(x, y);
    const low = times === null ? 0 : times[2 * i];
    const late = times === null ? 0 : times[2 * i + 1];
    const number = timed ? returnNumber[i] : 0;
    let hash = 0;
    if (drawPoints) hash = stir(stir(stir(0, file), first + i), Math.floor((first + i) / TWO_32));
    else {
      hash = stir(stir(stir(stir(0, x), y), z), high);
      if (timed) hash = stir(stir(stir(hash, low), late), number);
    }
    hash = finishHash(hash);
    if (!sample.takes(hash)) continue;
    key[0] = x;
    key[1] = y;
    key[2] = z;
    key[3] = high;
    key[4] = low;
    key[5] = late;
    key[6] = number;
    key[FILE] = file;
    key[ORDINAL] = first + i;
    key[ORDINAL + 1] = Math.floor((first + i) / TWO_32);
    sample.add(hash, key, 0, 1);
  }
  state.points += looked;
}

/** High parts of two coordinates, 16 bits each. */
function highOf(x: number, y: number): number {
  return (Math.floor(x / TWO_32) << 16) | (Math.floor(y / TWO_32) & 0xffff);
}

/** Mixes the low word of a number into a hash; `finishHash` ends it. */
function stir(hash: number, value: number): number {
  const h = Math.imul(hash ^ value, 0x9e3779b1);
  return h ^ (h >>> 15);
}

/** The hash, unsigned: every bit of what was stirred in counts for every bit of it. */
function finishHash(hash: number): number {
  let h = Math.imul(hash ^ (hash >>> 16), 0x2c1b3c6d);
  h = Math.imul(h ^ (h >>> 12), 0x297a2d39);
  return (h ^ (h >>> 15)) >>> 0;
}

/** Places that are drawn are neighbours by their hash; points drawn are brought together by place. */
function orderOf(sample: KeySample, draw: DuplicatesParams['draw']): Uint32Array {
  if (draw === 'places') return sample.sorted();
  const order = Uint32Array.from({ length: sample.size }, (_, k) => k);
  return order.sort((i, j) => {
    for (let k = 0; k < sample.width; k++) {
      const difference = sample.part(i, k) - sample.part(j, k);
      if (difference !== 0) return difference;
    }
    return 0;
  });
}

function samePlace(sample: KeySample, i: number, j: number): boolean {
  for (let k = 0; k < FILE; k++) if (sample.part(i, k) !== sample.part(j, k)) return false;
  return true;
}

/** Adds one place: its points, from one file or several. */
function addPlace(
  found: Duplicates,
  pairs: Map<string, { a: number; b: number; points: number }>,
  sample: KeySample,
  members: Uint32Array,
): void {
  const byFile = new Map<number, number>();
  let points = 0;
  for (const m of members) {
    const file = sample.part(m, FILE);
    byFile.set(file, (byFile.get(file) ?? 0) + sample.count(m));
    points += sample.count(m);
  }
  found.sampled += points;
  if (points === 1) return;
  found.places++;
  found.surplus += points - 1;
  const files = [...byFile.keys()].sort((a, b) => a - b);
  for (const file of files) {
    addPair(pairs, file, file, byFile.get(file)! - 1);
    if (file !== files[0]) addPair(pairs, files[0], file, 1);
  }
  const [a, b, c, d] = [0, 1, 2, 3].map((k) => sample.part(members[0], k));
  const metres = (high: number, low: number) => (high * TWO_32 + (low >>> 0)) / QUANTA_PER_METRE;
  found.worst.push({ x: metres(d >> 16, a), y: metres((d << 16) >> 16, b), z: c / QUANTA_PER_METRE, points, files });
  if (found.worst.length > LISTED * 40) found.worst = found.worst.sort(worse).slice(0, LISTED);
}

function addPair(pairs: Map<string, { a: number; b: number; points: number }>, a: number, b: number, n: number): void {
  if (n === 0) return;
  const known = pairs.get(`${a} ${b}`);
  if (known) known.points += n;
  else pairs.set(`${a} ${b}`, { a, b, points: n });
}

function worse(p: Duplicates['worst'][number], q: Duplicates['worst'][number]): number {
  return q.points - p.points || p.x - q.x || p.y - q.y || p.z - q.z;
}

import { CUBE_BYTES } from '../kernel/voxel-area.js';
import { KeyTable } from './key-table.js';
import type { AreaPiece } from './measurement.js';

/**
 * Cubes with the moments of their points, by area: CUBE_BYTES each (column, row, level, pass, then n and sums of x y z xx
 * xy xz yy yz zz), in the order in which they came. The same cube and pass may be there more than once.
 */
export interface CubeLists {
  /** Edge of a cube, in the unit of the sums. */
  side: number;
  /** Keys: area column, area row, 0 for its own cubes or 1 for those of the next areas that it needs besides, 0. */
  keys: KeyTable;
  lists: CubeList[];
  guard: PointGuard;
}

interface CubeList {
  /** HEAD words, then the cubes. */
  words: Int32Array;
  /** Words that are filled. */
  used: number;
  /** Words when cubes were last put together. */
  merged: number;
}

/** Most points a cube may hold, and what is thrown when it holds more. */
export interface PointGuard {
  mostPoints: number;
  tooMany: () => Error;
}

const WORDS = CUBE_BYTES / 4;
const NUMBERS = CUBE_BYTES / 8;
/** Where in a cube, in numbers, its sums begin, and how many there are. */
const SUMS_AT = 2;
const SUMS = 10;
/** An area is 128 x 128 cubes in plan, all heights: 32 m with cubes of 0.25 m. */
const AREA_SHIFT = 7;
export const AREA_SIDE = 1 << AREA_SHIFT;
/** Words before the cubes: MAGIC, edge, number of cubes, nothing. */
const HEAD = 4;
const MAGIC = 0x504d4f33;

/** Cubes of a list are put together when it has grown to so many words, and to so many times what it came to before. */
const LEAST_MERGE = 4 << 20;
const MERGE_FACTOR = 2;

/**
 * Buffers that have been used up, of this thread: fresh memory costs more than all the sums in it, and pieces come in
 * about as many as go out.
 */
const spare: ArrayBuffer[] = [];
let spareBytes = 0;
const MOST_SPARE_BYTES = 64 << 20;
/** Smaller buffers are not kept, for there are many of them and they cost little. */
const LEAST_SPARE_BYTES = 64 << 10;
/** Words of the first buffer of a list, which grows by the first factor as long as it is small. */
const FIRST_WORDS = 512;
const GROWTH = 4;
const LATER_GROWTH = 2;

/** A buffer with room for so many words, which may be longer. */
function takeBuffer(words: number): ArrayBuffer {
  const bytes = words * 4;
  const at = bytes < LEAST_SPARE_BYTES ? -1 : spare.findIndex(({ byteLength }) => byteLength >= bytes);
  if (at < 0) return new ArrayBuffer(bytes);
  const [buffer] = spare.splice(at, 1);
  spareBytes -= buffer.byteLength;
  return buffer;
}

/** Gives back a buffer that nobody will look at again. */
export function recycleBuffer(buffer: ArrayBuffer): void {
  if (buffer.byteLength < LEAST_SPARE_BYTES || spareBytes + buffer.byteLength > MOST_SPARE_BYTES) return;
  spare.push(buffer);
  spareBytes += buffer.byteLength;
}

/** @param side edge of a cube */
export function createCubeLists(side: number, guard: PointGuard): CubeLists {
  return { side, keys: new KeyTable(), lists: [], guard };
}

/** Gives back the memory of lists that nobody will look at again. */
export function recycleLists(cubes: CubeLists): void {
  for (const { words } of cubes.lists) recycleBuffer(words.buffer as ArrayBuffer);
  cubes.lists.length = 0;
  cubes.keys.clear();
}

/**
 * Adds cubes, CUBE_BYTES each. Those at the western and southern border of an area go to its neighbours besides: in the
 * second lattice, voxels start at the last cube of an area.
 */
export function appendCubes(cubes: CubeLists, bytes: Uint8Array): void {
  const words = new Int32Array(bytes.buffer, bytes.byteOffset, bytes.byteLength / 4);
  let column = 0;
  let row = 0;
  let own = -1;
  for (let w = 0; w < words.length; w += WORDS) {
    const x = words[w];
    const y = words[w + 1];
    if (own < 0 || x >> AREA_SHIFT !== column || y >> AREA_SHIFT !== row) {
      column = x >> AREA_SHIFT;
      row = y >> AREA_SHIFT;
      own = open(cubes, column, row, 0);
    }
    put(cubes, own, words, w);
    const west = (x & (AREA_SIDE - 1)) === 0;
    const south = (y & (AREA_SIDE - 1)) === 0;
    if (west) put(cubes, open(cubes, column - 1, row, 1), words, w);
    if (south) put(cubes, open(cubes, column, row - 1, 1), words, w);
    if (west && south) put(cubes, open(cubes, column - 1, row - 1, 1), words, w);
  }
}

function open({ keys, lists }: CubeLists, column: number, row: number, rim: number): number {
  const at = keys.add(column, row, rim, 0);
  if (at === lists.length) lists.push({ words: new Int32Array(0), used: HEAD, merged: HEAD });
  return at;
}

function put({ lists, guard }: CubeLists, at: number, from: Int32Array, w: number): void {
  const list = lists[at];
  if (list.used + WORDS > list.words.length) makeRoom(list, guard);
  const { words, used } = list;
  for (let k = 0; k < WORDS; k++) words[used + k] = from[w + k];
  list.used = used + WORDS;
}

/** Room for one cube more at the least. */
function makeRoom(list: CubeList, guard: PointGuard): void {
  if (list.used > Math.max(LEAST_MERGE, MERGE_FACTOR * list.merged)) merge(list, guard);
  if (list.used + WORDS <= list.words.length) return;
  const known = list.words.length;
  const factor = known * 4 < LEAST_SPARE_BYTES ? GROWTH : LATER_GROWTH;
  const buffer = takeBuffer(Math.max(FIRST_WORDS, factor * known));
  const larger = new Int32Array(buffer, 0, buffer.byteLength >> 2);
  larger.set(list.words.subarray(0, list.used));
  recycleBuffer(list.words.buffer as ArrayBuffer);
  list.words = larger;
}

function merge(list: CubeList, guard: PointGuard): void {
  const merged = mergedCubes([list.words.subarray(HEAD, list.used)], guard);
  list.words.set(merged, HEAD);
  list.used = HEAD + merged.length;
  list.merged = list.used;
}

/** Cubes of one place and pass put together, sorted by column, row, level and pass. @throws what the guard says */
function mergedCubes(parts: readonly Int32Array[], { mostPoints, tooMany }: PointGuard): Int32Array {
  const keys = new KeyTable();
  let sums = new Float64Array(1024 * SUMS);
  for (const words of parts) {
    // Cubes stand at multiples of eight bytes, as sums must.
    const numbers = new Float64Array(words.buffer, words.byteOffset, words.length / 2);
    for (let w = 0, from = SUMS_AT; w < words.length; w += WORDS, from += NUMBERS) {
      const to = keys.add(words[w], words[w + 1], words[w + 2], words[w + 3]) * SUMS;
      if (to + SUMS > sums.length) sums = grown(sums);
      for (let k = 0; k < SUMS; k++) sums[to + k] += numbers[from + k];
      if (sums[to] > mostPoints) throw tooMany();
    }
  }
  const order = keys.sorted();
  const merged = new Int32Array(order.length * WORDS);
  const numbers = new Float64Array(merged.buffer);
  for (let i = 0; i < order.length; i++) {
    for (let k = 0; k < 4; k++) merged[i * WORDS + k] = keys.part(order[i], k);
    numbers.set(sums.subarray(order[i] * SUMS, (order[i] + 1) * SUMS), i * NUMBERS + SUMS_AT);
  }
  return merged;
}

function grown(sums: Float64Array): Float64Array<ArrayBuffer> {
  const larger = new Float64Array(sums.length * 2);
  larger.set(sums);
  return larger;
}

/** Canonical bytes: every cube once, sorted. */
export function packCubes({ keys, lists, side, guard }: CubeLists): ArrayBuffer {
  const own = lists.filter((_, at) => keys.part(at, 2) === 0);
  const merged = mergedCubes(
    own.map(({ words, used }) => words.subarray(HEAD, used)),
    guard,
  );
  const packed = new Int32Array(HEAD + merged.length);
  packed.set([MAGIC, side, merged.length / WORDS, 0]);
  packed.set(merged, HEAD);
  return packed.buffer;
}

/** The cubes in packed bytes, where they lie. @throws RangeError for something else, or cubes of another edge */
export function packedCubes(packed: ArrayBuffer, side: number): Uint8Array {
  const [magic, edge, count] = new Int32Array(packed, 0, HEAD);
  if (magic !== MAGIC || edge !== side) throw new RangeError('these plane moments were measured otherwise');
  return new Uint8Array(packed, HEAD * 4, count * CUBE_BYTES);
}

/** The lists as pieces, one an area and one for what it needs of others: they are handed over, nothing stays. */
export function cutCubes({ keys, lists, side }: CubeLists): AreaPiece[] {
  const pieces = lists.map(({ words, used }, at) => {
    words.set([MAGIC, side, (used - HEAD) / WORDS, 0]);
    return { column: keys.part(at, 0), row: keys.part(at, 1), packed: words.buffer as ArrayBuffer, bytes: used * 4 };
  });
  lists.length = 0;
  keys.clear();
  return pieces;
}

import { CUBE_BYTES } from '../kernel/voxel-area.js';
import { KeyTable } from './key-table.js';
import type { AreaPiece } from './measurement.js';

/**
 * Cubes with the moments of their points, one after the other, in the order in which they came: CUBE_BYTES each (column,
 * row, level, pass, then n and sums of x y z xx xy xz yy yz zz). The same cube and pass may stand in it more than once.
 */
export interface CubeList {
  bytes: Uint8Array;
  /** Bytes that are filled. */
  used: number;
  /** Bytes when cubes were last put together. */
  merged: number;
}

const WORDS = CUBE_BYTES / 4;
const NUMBERS = CUBE_BYTES / 8;
/** Where in a cube, in numbers, its sums begin. */
const SUMS = 2;
/** An area is 128 x 128 cubes in plan, all heights: 32 m with cubes of 0.25 m. */
const AREA_SHIFT = 7;
export const AREA_SIDE = 1 << AREA_SHIFT;
const MAGIC = 0x504d4f33;
const HEAD = 16;

/** Cubes of one place are put together when a list has grown to so many bytes, and to so many times what it came to before. */
const LEAST_MERGE = 16 << 20;
const MERGE_FACTOR = 2;

/** Buffers given back: fresh memory costs more than all the sums in it. Of this thread. */
const spare: Uint8Array[] = [];
const MOST_SPARE = 4;
const LEAST_SPARE = 1 << 20;

export function createCubeList(): CubeList {
  return { bytes: new Uint8Array(0), used: 0, merged: 0 };
}

/** Gives back the memory of a list that nobody will look at again. */
export function recycle(list: CubeList): void {
  if (list.bytes.length >= LEAST_SPARE && spare.length < MOST_SPARE) spare.push(list.bytes);
  Object.assign(list, createCubeList());
}

/** @param mostPoints of a cube. @throws what `tooMany` gives when a cube holds more */
export function appendCubes(list: CubeList, cubes: Uint8Array, guard: PointGuard): void {
  const need = list.used + cubes.length;
  if (need > list.bytes.length) grow(list, need);
  list.bytes.set(cubes, list.used);
  list.used = need;
  if (list.used > Math.max(LEAST_MERGE, MERGE_FACTOR * list.merged)) mergeCubes(list, guard);
}

/** Most points a cube may hold, and what is thrown when it holds more. */
export interface PointGuard {
  mostPoints: number;
  tooMany: () => Error;
}

function grow(list: CubeList, need: number): void {
  const at = spare.findIndex((bytes) => bytes.length >= need);
  const size = Math.max(need, 2 * list.bytes.length);
  const larger = at >= 0 ? spare.splice(at, 1)[0] : new Uint8Array(Math.ceil(size / CUBE_BYTES) * CUBE_BYTES);
  larger.set(list.bytes.subarray(0, list.used));
  recycle({ ...list });
  list.bytes = larger;
}

function wordsOf({ bytes, used }: CubeList): Int32Array {
  return new Int32Array(bytes.buffer, 0, used / 4);
}

function numbersOf({ bytes, used }: CubeList): Float64Array {
  return new Float64Array(bytes.buffer, 0, used / 8);
}

/** Passes that hold points, ascending. */
export function passesOf(list: CubeList): number[] {
  const words = wordsOf(list);
  const passes = new Set<number>();
  for (let w = 3; w < words.length; w += WORDS) if (w === 3 || words[w] !== words[w - WORDS]) passes.add(words[w]);
  return [...passes].sort((a, b) => a - b);
}

/** Puts cubes of one place and pass together, sorted by column, row, level and pass. */
export function mergeCubes(list: CubeList, { mostPoints, tooMany }: PointGuard): void {
  const words = wordsOf(list);
  const numbers = numbersOf(list);
  const count = list.used / CUBE_BYTES;
  const keys = new KeyTable();
  const sums = new Float64Array(count * (NUMBERS - SUMS));
  for (let i = 0; i < count; i++) {
    const w = i * WORDS;
    const to = keys.add(words[w], words[w + 1], words[w + 2], words[w + 3]) * (NUMBERS - SUMS);
    const from = i * NUMBERS + SUMS;
    for (let k = 0; k < NUMBERS - SUMS; k++) sums[to + k] += numbers[from + k];
    if (sums[to] > mostPoints) throw tooMany();
  }
  const order = keys.sorted();
  for (let i = 0; i < order.length; i++) {
    const cube = order[i];
    for (let k = 0; k < 4; k++) words[i * WORDS + k] = keys.part(cube, k);
    numbers.set(sums.subarray(cube * (NUMBERS - SUMS), (cube + 1) * (NUMBERS - SUMS)), i * NUMBERS + SUMS);
  }
  list.used = order.length * CUBE_BYTES;
  list.merged = list.used;
}

/** Canonical bytes. */
export function packCubes(list: CubeList, side: number, guard: PointGuard): ArrayBuffer {
  mergeCubes(list, guard);
  const packed = start(new ArrayBuffer(HEAD + list.used), side, list.used);
  new Uint8Array(packed, HEAD).set(list.bytes.subarray(0, list.used));
  return packed;
}

function start(packed: ArrayBuffer, side: number, bytes: number): ArrayBuffer {
  new Int32Array(packed, 0, 4).set([MAGIC, side, bytes / CUBE_BYTES, 0]);
  return packed;
}

/** Pieces that have been used up, of this thread: they come in about as many as go out. */
const pieces: ArrayBuffer[] = [];
let pieceBytes = 0;
const MOST_PIECE_BYTES = 64 << 20;

/** A buffer with room for so many cubes, which may be longer. */
function takePiece(bytes: number): ArrayBuffer {
  const need = HEAD + bytes;
  const at = pieces.findIndex((piece) => piece.byteLength >= need && piece.byteLength <= 4 * need);
  if (at < 0) return new ArrayBuffer(need);
  const [piece] = pieces.splice(at, 1);
  pieceBytes -= piece.byteLength;
  return piece;
}

/** Gives back a piece whose cubes have been taken in. */
export function recyclePiece(piece: ArrayBuffer): void {
  if (pieceBytes + piece.byteLength > MOST_PIECE_BYTES) return;
  pieces.push(piece);
  pieceBytes += piece.byteLength;
}

/** The cubes in packed bytes, where they lie. @throws RangeError for something else, or cubes of another edge */
export function packedCubes(packed: ArrayBuffer, side: number): Uint8Array {
  const [magic, edge, count] = new Int32Array(packed, 0, 4);
  if (magic !== MAGIC || edge !== side) throw new RangeError('these plane moments were measured otherwise');
  return new Uint8Array(packed, HEAD, count * CUBE_BYTES);
}

/**
 * Cuts a list into areas. An area also gets the first cubes of the next ones to the east and north: in the second lattice,
 * voxels start at the last cube of an area.
 */
export function cutCubes(list: CubeList, side: number): AreaPiece[] {
  const words = wordsOf(list);
  const count = list.used / CUBE_BYTES;
  const areas = new Sizes();
  const goes: Destinations = { own: new Int32Array(count), besides: [] };
  for (let from = 0; from < count; from += STRETCH)
    tellAreas(words, from, Math.min(from + STRETCH, count), areas, goes);
  const cut = areas.sizes.map((size) => start(takePiece(size * CUBE_BYTES), side, size * CUBE_BYTES));
  const into = cut.map((packed) => new Int32Array(packed));
  const filled = Int32Array.from(cut, () => HEAD / 4);
  for (let i = 0; i < count; i++) copyCube(words, i, into[goes.own[i]], filled, goes.own[i]);
  for (let i = 0; i < goes.besides.length; i += 2) {
    const area = goes.besides[i + 1];
    copyCube(words, goes.besides[i], into[area], filled, area);
  }
  return cut.map((packed, area) => ({ column: areas.keys.part(area, 0), row: areas.keys.part(area, 1), packed }));
}

/** Cubes looked at in one call: the engine compiles what is called often, sooner than what runs long. */
const STRETCH = 512;

/** To which areas cubes go: each to its own; some to others besides, cube and area in turn. */
interface Destinations {
  own: Int32Array;
  besides: number[];
}

function tellAreas(words: Int32Array, from: number, to: number, areas: Sizes, { own, besides }: Destinations): void {
  for (let i = from; i < to; i++) {
    const x = words[i * WORDS];
    const y = words[i * WORDS + 1];
    const column = x >> AREA_SHIFT;
    const row = y >> AREA_SHIFT;
    own[i] = areas.oneMore(column, row);
    const west = (x & (AREA_SIDE - 1)) === 0;
    const south = (y & (AREA_SIDE - 1)) === 0;
    if (west) besides.push(i, areas.oneMore(column - 1, row));
    if (south) besides.push(i, areas.oneMore(column, row - 1));
    if (west && south) besides.push(i, areas.oneMore(column - 1, row - 1));
  }
}

function copyCube(words: Int32Array, cube: number, to: Int32Array, filled: Int32Array, area: number): void {
  const at = filled[area];
  const from = cube * WORDS;
  for (let k = 0; k < WORDS; k++) to[at + k] = words[from + k];
  filled[area] = at + WORDS;
}

/** Counts cubes by area. Most go where one of the last went. */
class Sizes {
  readonly keys = new KeyTable();
  readonly sizes: number[] = [];
  #last = 0;

  /** @returns the number of the area */
  oneMore(column: number, row: number): number {
    const { keys, sizes } = this;
    let area = this.#last;
    if (area >= sizes.length || keys.part(area, 0) !== column || keys.part(area, 1) !== row) {
      area = keys.add(column, row, 0, 0);
      if (area === sizes.length) sizes.push(0);
      this.#last = area;
    }
    sizes[area]++;
    return area;
  }
}

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

/** Blocks of cubes, HEAD words first in each; the last one is being filled. */
interface CubeList {
  full: Int32Array[];
  last: Int32Array;
  /** Words of the last one that are filled. */
  used: number;
  /** Words in all, and when cubes were last put together. */
  words: number;
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

/** Words of a block, and of the first one of a list: most lists are long, but there may be very many short ones. */
const BLOCK_WORDS = HEAD + 682 * WORDS;
const FIRST_WORDS = HEAD + 21 * WORDS;
const BLOCK_BYTES = BLOCK_WORDS * 4;
/**
 * Blocks that have been used up, of this thread: fresh memory costs more than all the sums in it, and as many come in as
 * go out.
 */
const spare: ArrayBuffer[] = [];
const MOST_SPARE = 1024;

function takeBlock(): Int32Array {
  return new Int32Array(spare.pop() ?? new ArrayBuffer(BLOCK_BYTES));
}

/** Gives back a buffer that nobody will look at again. */
export function recycleBuffer(buffer: ArrayBuffer): void {
  if (buffer.byteLength === BLOCK_BYTES && spare.length < MOST_SPARE) spare.push(buffer);
}

/** @param side edge of a cube */
export function createCubeLists(side: number, guard: PointGuard): CubeLists {
  return { side, keys: new KeyTable(), lists: [], guard };
}

/** Gives back the memory of lists that nobody will look at again. */
export function recycleLists(cubes: CubeLists): void {
  for (const list of cubes.lists) recycle(list);
  cubes.lists.length = 0;
  cubes.keys.clear();
}

function recycle({ full, last }: CubeList): void {
  for (const { buffer } of [...full, last]) recycleBuffer(buffer as ArrayBuffer);
}

/**
 * Adds cubes, CUBE_BYTES each. Those at the western and southern border of an area go to its neighbours besides: in the
 * second lattice, voxels start at the last cube of an area.
 */
export function appendCubes(cubes: CubeLists, bytes: Uint8Array): void {
  const words = new Int32Array(bytes.buffer, bytes.byteOffset, bytes.byteLength / 4);
  for (let from = 0; from < words.length; ) {
    const column = words[from] >> AREA_SHIFT;
    const row = words[from + 1] >> AREA_SHIFT;
    let to = from;
    while (to < words.length && words[to] >> AREA_SHIFT === column && words[to + 1] >> AREA_SHIFT === row) {
      const west = (words[to] & (AREA_SIDE - 1)) === 0;
      const south = (words[to + 1] & (AREA_SIDE - 1)) === 0;
      if (west || south) appendToNext(cubes, column, row, west, south, words.subarray(to, to + WORDS));
      to += WORDS;
    }
    append(cubes, column, row, 0, words.subarray(from, to));
    from = to;
  }
}

/** Adds a cube at the border of an area to what the areas beyond need besides. */
function appendToNext(
  cubes: CubeLists,
  column: number,
  row: number,
  west: boolean,
  south: boolean,
  cube: Int32Array,
): void {
  if (west) append(cubes, column - 1, row, 1, cube);
  if (south) append(cubes, column, row - 1, 1, cube);
  if (west && south) append(cubes, column - 1, row - 1, 1, cube);
}

function append({ keys, lists, guard }: CubeLists, column: number, row: number, rim: number, more: Int32Array): void {
  const at = keys.add(column, row, rim, 0);
  if (at === lists.length) lists.push(emptyList(new Int32Array(FIRST_WORDS)));
  const list = lists[at];
  fill(list, more);
  if (list.words > Math.max(LEAST_MERGE, MERGE_FACTOR * list.merged)) merge(list, guard);
}

function emptyList(last: Int32Array): CubeList {
  return { full: [], last, used: HEAD, words: 0, merged: 0 };
}

function fill(list: CubeList, more: Int32Array): void {
  list.words += more.length;
  for (let from = 0; from < more.length; ) {
    if (list.used === list.last.length) {
      list.full.push(list.last);
      list.last = takeBlock();
      list.used = HEAD;
    }
    const to = Math.min(more.length, from + list.last.length - list.used);
    list.last.set(from === 0 && to === more.length ? more : more.subarray(from, to), list.used);
    list.used += to - from;
    from = to;
  }
}

function merge(list: CubeList, guard: PointGuard): void {
  const merged = mergedCubes(partsOf(list), guard);
  recycle(list);
  Object.assign(list, emptyList(takeBlock()));
  fill(list, merged);
  list.merged = merged.length;
}

/** The cubes of a list. */
function partsOf({ full, last, used }: CubeList): Int32Array[] {
  return [...full.map((block) => block.subarray(HEAD)), last.subarray(HEAD, used)];
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
  const merged = mergedCubes(own.flatMap(partsOf), guard);
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

/** The lists as pieces, by area, one a block: they are handed over, nothing stays. */
export function cutCubes({ keys, lists, side }: CubeLists): AreaPiece[] {
  const pieces = lists.flatMap(({ full, last, used }, at) => {
    const [column, row] = [keys.part(at, 0), keys.part(at, 1)];
    return [...full, last].map((block) => {
      const words = block === last ? used : block.length;
      block.set([MAGIC, side, (words - HEAD) / WORDS, 0]);
      return { column, row, packed: block.buffer as ArrayBuffer, bytes: words * 4 };
    });
  });
  lists.length = 0;
  keys.clear();
  return pieces;
}

import { cutByArea } from '../kernel/cube-areas.js';
import type { Cubes } from '../kernel/cubes.js';
import { HEAD, sealBlock, takeCubeBlock, takeFirstBlock } from './cube-blocks.js';
import { mergeCubes, type PointGuard } from './cube-merge.js';
import { KeyTable } from './key-table.js';
import type { AreaPiece } from './measurement.js';
import { giveBlock } from './spare-blocks.js';

/** Cubes with the moments of their points, by area. The same cube and pass may be there more than once. */
export interface CubeLists {
  /** Edge of a cube, in the unit of the sums. */
  side: number;
  /** Keys: area column, area row, 0 for its own cubes or 1 for those of the next areas that it needs besides, 1 if wide. */
  keys: KeyTable;
  lists: CubeList[];
  guard: PointGuard;
}

/** Cubes of one form. Blocks, HEAD words first in each; the last one is being filled. */
interface CubeList {
  wide: boolean;
  full: Int32Array[];
  last: Int32Array;
  /** Words of the last one that are filled. */
  used: number;
  /** Words of all cubes. */
  words: number;
}

/** Small cubes of an area are put together when they are so many words, and so many times those of its wide ones. */
const LEAST_MERGE = 4 << 20;
const MERGE_FACTOR = 1;

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
  for (const { buffer } of [...full, last]) giveBlock(buffer as ArrayBuffer);
}

/** Adds cubes, each to its area and to those that need it besides. */
export function appendCubes(lists: CubeLists, cubes: Cubes): void {
  cutByArea(cubes, (column, row, rim, words) => {
    const list = listOf(lists, column, row, rim, cubes.wide);
    fill(list, words);
    if (!list.wide && list.words > LEAST_MERGE) mergeIfMany(lists, column, row, rim);
  });
}

function listOf({ keys, lists }: CubeLists, column: number, row: number, rim: number, wide: boolean): CubeList {
  const at = keys.add(column, row, rim, wide ? 1 : 0);
  if (at === lists.length) lists.push({ wide, ...emptied(takeFirstBlock()) });
  return lists[at];
}

function emptied(last: Int32Array): Omit<CubeList, 'wide'> {
  return { full: [], last, used: HEAD, words: 0 };
}

function fill(list: CubeList, more: Int32Array): void {
  list.words += more.length;
  for (let from = 0; from < more.length; ) {
    if (list.used === list.last.length) {
      list.full.push(list.last);
      list.last = takeCubeBlock();
      list.used = HEAD;
    }
    const to = Math.min(more.length, from + list.last.length - list.used);
    list.last.set(from === 0 && to === more.length ? more : more.subarray(from, to), list.used);
    list.used += to - from;
    from = to;
  }
}

/** Puts small cubes together with the wide ones of the area, when it is worth it. */
function mergeIfMany(lists: CubeLists, column: number, row: number, rim: number): void {
  const small = listOf(lists, column, row, rim, false);
  const wide = listOf(lists, column, row, rim, true);
  if (small.words <= MERGE_FACTOR * wide.words) return;
  const merged = mergeCubes([...cubesOf(small), ...cubesOf(wide)], lists.guard);
  for (const list of [small, wide]) {
    recycle(list);
    Object.assign(list, emptied(takeCubeBlock()));
  }
  fill(wide, merged);
}

function cubesOf({ wide, full, last, used }: CubeList): Cubes[] {
  const blocks = [...full.map((block) => block.subarray(HEAD)), last.subarray(HEAD, used)];
  return blocks.map(({ buffer, byteOffset, byteLength }) => ({
    wide,
    bytes: new Uint8Array(buffer, byteOffset, byteLength),
  }));
}

/** Canonical bytes: every cube once, sorted, in the wide form. */
export function packCubes({ keys, lists, side, guard }: CubeLists): ArrayBuffer {
  const own = lists.filter((_, at) => keys.part(at, 2) === 0);
  const merged = mergeCubes(own.flatMap(cubesOf), guard);
  const packed = new Int32Array(HEAD + merged.length);
  sealBlock(packed, true, side, packed.length);
  packed.set(merged, HEAD);
  return packed.buffer;
}

/** The lists as pieces, by area, one a block: they are handed over, nothing stays. */
export function cutCubes({ keys, lists, side }: CubeLists): AreaPiece[] {
  const pieces = lists.flatMap(({ wide, full, last, used }, at) => {
    const [column, row] = [keys.part(at, 0), keys.part(at, 1)];
    return [...full, last].map((block) => {
      const words = block === last ? used : block.length;
      sealBlock(block, wide, side, words);
      return { column, row, packed: block.buffer as ArrayBuffer, bytes: words * 4 };
    });
  });
  lists.length = 0;
  keys.clear();
  return pieces;
}

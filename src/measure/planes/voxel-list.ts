import type { MomentVoxels } from '../../kernel/voxel-record.js';
import { cutByBlock } from '../../kernel/voxels-by-block.js';
import { KeyTable } from '../cells/key-table.js';
import type { BlockPiece } from '../contract/measurement.js';
import { mergeVoxels, type PointGuard } from './merge-voxels.js';
import { giveBuffer } from './spare-blocks.js';
import { HEAD, sealBuffer, takeFirstBuffer, takeVoxelBuffer } from './voxel-list-blocks.js';

/** Cubes with the moments of their points, by area. The same cube and pass may be there more than once. */
export interface VoxelLists {
  /** Edge of a cube, in the unit of the sums. */
  side: number;
  /** Keys: area column, area row, 0 for its own cubes or 1 for those of the next areas that it needs besides, 1 if wide. */
  keys: KeyTable;
  lists: VoxelList[];
  guard: PointGuard;
}

/** Cubes of one form. Blocks, HEAD words first in each; the last one is being filled. */
interface VoxelList {
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
export function createVoxelLists(side: number, guard: PointGuard): VoxelLists {
  return { side, keys: new KeyTable(), lists: [], guard };
}

/** Gives back the memory of lists that nobody will look at again. */
export function recycleLists(cubes: VoxelLists): void {
  for (const list of cubes.lists) recycle(list);
  cubes.lists.length = 0;
  cubes.keys.clear();
}

function recycle({ full, last }: VoxelList): void {
  for (const { buffer } of [...full, last]) giveBuffer(buffer as ArrayBuffer);
}

/** Adds cubes, each to its area and to those that need it besides. */
export function appendVoxels(lists: VoxelLists, cubes: MomentVoxels): void {
  cutByBlock(cubes, (column, row, rim, words) => {
    const list = listOf(lists, column, row, rim, cubes.wide);
    fill(list, words);
    if (!list.wide && list.words > LEAST_MERGE) mergeIfMany(lists, column, row, rim);
  });
}

function listOf({ keys, lists }: VoxelLists, column: number, row: number, rim: number, wide: boolean): VoxelList {
  const at = keys.add(column, row, rim, wide ? 1 : 0);
  if (at === lists.length) lists.push({ wide, ...emptied(takeFirstBuffer()) });
  return lists[at];
}

function emptied(last: Int32Array): Omit<VoxelList, 'wide'> {
  return { full: [], last, used: HEAD, words: 0 };
}

function fill(list: VoxelList, more: Int32Array): void {
  list.words += more.length;
  for (let from = 0; from < more.length; ) {
    if (list.used === list.last.length) {
      list.full.push(list.last);
      list.last = takeVoxelBuffer();
      list.used = HEAD;
    }
    const to = Math.min(more.length, from + list.last.length - list.used);
    list.last.set(from === 0 && to === more.length ? more : more.subarray(from, to), list.used);
    list.used += to - from;
    from = to;
  }
}

/** Puts small cubes together with the wide ones of the area, when it is worth it. */
function mergeIfMany(lists: VoxelLists, column: number, row: number, rim: number): void {
  const small = listOf(lists, column, row, rim, false);
  const wide = listOf(lists, column, row, rim, true);
  if (small.words <= MERGE_FACTOR * wide.words) return;
  const merged = mergeVoxels([...cubesOf(small), ...cubesOf(wide)], lists.guard);
  for (const list of [small, wide]) {
    recycle(list);
    Object.assign(list, emptied(takeVoxelBuffer()));
  }
  fill(wide, merged);
}

function cubesOf({ wide, full, last, used }: VoxelList): MomentVoxels[] {
  const blocks = [...full.map((block) => block.subarray(HEAD)), last.subarray(HEAD, used)];
  return blocks.map(({ buffer, byteOffset, byteLength }) => ({
    wide,
    bytes: new Uint8Array(buffer, byteOffset, byteLength),
  }));
}

/** Canonical bytes: every cube once, sorted, in the wide form. */
export function packVoxels({ keys, lists, side, guard }: VoxelLists): ArrayBuffer {
  const own = lists.filter((_, at) => keys.part(at, 2) === 0);
  const merged = mergeVoxels(own.flatMap(cubesOf), guard);
  const packed = new Int32Array(HEAD + merged.length);
  sealBuffer(packed, true, side, packed.length);
  packed.set(merged, HEAD);
  return packed.buffer;
}

/** The lists as pieces, by area, one a block: they are handed over, nothing stays. */
export function cutVoxels({ keys, lists, side }: VoxelLists): BlockPiece[] {
  const pieces = lists.flatMap(({ wide, full, last, used }, at) => {
    const [column, row] = [keys.part(at, 0), keys.part(at, 1)];
    return [...full, last].map((block) => {
      const words = block === last ? used : block.length;
      sealBuffer(block, wide, side, words);
      return { column, row, packed: block.buffer as ArrayBuffer, bytes: words * 4 };
    });
  });
  lists.length = 0;
  keys.clear();
  return pieces;
}

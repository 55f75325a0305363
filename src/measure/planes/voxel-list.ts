import type { MomentVoxels } from '../../kernel/voxel-record.js';
import { cutByBlock } from '../../kernel/voxels-by-block.js';
import { KeyTable } from '../cells/key-table.js';
import type { BlockPiece } from '../contract/measurement.js';
import { mergeVoxels, type PointGuard } from './merge-voxels.js';
import { giveBuffer } from './spare-blocks.js';
import { HEAD, sealBuffer, takeFirstBuffer, takeVoxelBuffer } from './voxel-list-blocks.js';

/** Voxels with the moments of their points, by block. The same voxel and pass may be listed more than once. */
export interface VoxelLists {
  /** Edge of a voxel, in the unit of the sums. */
  side: number;
  /** Keys: block column, block row, 0 for its own voxels or 1 for those of its neighbours that it also needs, 1 if wide. */
  keys: KeyTable;
  lists: VoxelList[];
  guard: PointGuard;
}

/** Voxels of one form. Buffers, each with HEAD words first; the last one is being filled. */
interface VoxelList {
  wide: boolean;
  full: Int32Array[];
  last: Int32Array;
  /** Words of the last one that are filled. */
  used: number;
  /** Words of all voxels. */
  words: number;
}

/** Small voxels of a block are merged when they have this many words, and this many times those of its wide voxels. */
const LEAST_MERGE = 4 << 20;
const MERGE_FACTOR = 1;

/** Empty lists. @param side edge of a voxel, in the unit of the sums */
export function createVoxelLists(side: number, guard: PointGuard): VoxelLists {
  return { side, keys: new KeyTable(), lists: [], guard };
}

/** Gives back the memory of lists that are no longer read. */
export function recycleLists(voxels: VoxelLists): void {
  for (const list of voxels.lists) recycle(list);
  voxels.lists.length = 0;
  voxels.keys.clear();
}

function recycle({ full, last }: VoxelList): void {
  for (const { buffer } of [...full, last]) giveBuffer(buffer as ArrayBuffer);
}

/** Adds voxels, each to its own block and to the neighbours that need it. */
export function appendVoxels(lists: VoxelLists, voxels: MomentVoxels): void {
  cutByBlock(voxels, (column, row, rim, words) => {
    const list = listOf(lists, column, row, rim, voxels.wide);
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

/** Merges small voxels into the wide voxels of the block, where there are enough of them. */
function mergeIfMany(lists: VoxelLists, column: number, row: number, rim: number): void {
  const small = listOf(lists, column, row, rim, false);
  const wide = listOf(lists, column, row, rim, true);
  if (small.words <= MERGE_FACTOR * wide.words) return;
  const merged = mergeVoxels([...voxelsOf(small), ...voxelsOf(wide)], lists.guard);
  for (const list of [small, wide]) {
    recycle(list);
    Object.assign(list, emptied(takeVoxelBuffer()));
  }
  fill(wide, merged);
}

function voxelsOf({ wide, full, last, used }: VoxelList): MomentVoxels[] {
  const blocks = [...full.map((block) => block.subarray(HEAD)), last.subarray(HEAD, used)];
  return blocks.map(({ buffer, byteOffset, byteLength }) => ({
    wide,
    bytes: new Uint8Array(buffer, byteOffset, byteLength),
  }));
}

/** Canonical bytes: every voxel once, sorted, in the wide form. */
export function packVoxels({ keys, lists, side, guard }: VoxelLists): ArrayBuffer {
  const own = lists.filter((_, at) => keys.part(at, 2) === 0);
  const merged = mergeVoxels(own.flatMap(voxelsOf), guard);
  const packed = new Int32Array(HEAD + merged.length);
  sealBuffer(packed, true, side, packed.length);
  packed.set(merged, HEAD);
  return packed.buffer;
}

/** The lists as pieces by block, one for each buffer. The buffers are handed over; the lists are empty then. */
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

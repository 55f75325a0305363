import { allocate, inputAddress, loops } from './loops.js';
import { bytesOf, type MomentVoxels, WIDE_BYTES } from './voxel-record.js';

/** A processing block has 128 x 128 columns of voxels, at all heights: 32 m with voxels of 0.25 m. Its width in voxels: */
const BLOCK_SHIFT = 7;
/** Width of a processing block in voxels. */
export const BLOCK_SIDE = 1 << BLOCK_SHIFT;

/** Voxels sorted in one call, and the most copies of one: its own block and three adjacent ones. */
const BATCH = 1024;
const MAX_COPIES = 4;
const MAX_GROUPS = 64;
const HEAD_WORDS = 4;
const input = allocate(Uint8Array, BATCH * WIDE_BYTES);
const heads = allocate(Int32Array, MAX_GROUPS * HEAD_WORDS);
const marks = allocate(Int32Array, BATCH * MAX_COPIES);
const output = allocate(Int32Array, (BATCH * MAX_COPIES * WIDE_BYTES) / 4);

/**
 * Groups voxels by processing block and calls `visit` once a group. `halo` is 1 for voxels of an adjacent block that this
 * block also needs. The array of words is reused: copy it before returning.
 */
export function cutByBlock(
  voxels: MomentVoxels,
  visit: (column: number, row: number, halo: number, words: Int32Array) => void,
): void {
  const voxelBytes = bytesOf(voxels.wide);
  const count = voxels.bytes.byteLength / voxelBytes;
  for (let from = 0; from < count; ) {
    const most = Math.min(BATCH, count - from);
    const at = inputAddress(voxels.bytes, from * voxelBytes, most * voxelBytes, input);
    from += loops.cutByBlock(
      at,
      most,
      voxelBytes,
      BLOCK_SHIFT,
      heads.address,
      MAX_GROUPS,
      marks.address,
      output.address,
    );
    const groups = loops.cutGroupCount();
    for (let g = 0, begin = 0; g < groups; g++) {
      const h = g * HEAD_WORDS;
      const end = (heads.view[h + 3] - output.address) / 4;
      visit(heads.view[h], heads.view[h + 1], heads.view[h + 2], output.view.subarray(begin, end));
      begin = end;
    }
  }
}

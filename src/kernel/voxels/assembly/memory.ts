// Memory layout. Regions of fixed size come first; regions that depend on the size of a block follow and are laid out anew
// for each block.

/** Bytes of a sub-voxel in the small form: column, row, level, pass (i32), then x y z n | xx yy zz n | xy yz zx n (u32, quanta). */
export const SMALL_BYTES: usize = 64;
/** Bytes of the wide form: column, row, level, pass (i32), then n, x, y, z, xx, xy, xz, yy, yz, zz (f64, quanta). */
export const WIDE_BYTES: usize = 96;
/** Bytes of a stored sub-voxel or voxel: the wide form, then the address of the next record of the same column and row. */
export const RECORD_BYTES: usize = 112;
/** Byte offset of that address. */
export const NEXT: usize = 96;

/** Sub-voxels that are added in one call. */
export const INPUT_CAPACITY: i32 = 4096;
/** Most passes of a block, and most groups of records: room for every pair of 361 passes. */
export const MAX_PASSES: i32 = 4096;
/** Most groups of records. */
export const MAX_GROUPS: i32 = 65_536;

/** Address of the input; the first page (64 KiB) holds the compiler's constants. */
export const INPUT: usize = 65_536;
/** Address of the passes of the block (i32 each). */
export const PASSES: usize = INPUT + <usize>INPUT_CAPACITY * WIDE_BYTES;
/** Address of the groups, 48 bytes each. */
export const GROUPS: usize = PASSES + 4 * <usize>MAX_PASSES;
/** Address of the hash table of the groups (i32): 0 or the number of a group, from 1. */
export const GROUP_ENTRIES: usize = GROUPS + 48 * <usize>MAX_GROUPS;
/** Addresses of the first record of every column and row: of sub-voxels, then of voxels of either lattice. */
export const SUB_VOXEL_HEADS: usize = GROUP_ENTRIES + 8 * <usize>MAX_GROUPS;
/** Width of a block in sub-voxels. */
export const SUB_VOXELS_WIDE: i32 = 128;
/** Width of a block in voxels. */
export const VOXELS_WIDE: i32 = 64;
/** Address of the first voxel record of every column and row (u32), first lattice, then second. */
export const VOXEL_HEADS: usize = SUB_VOXEL_HEADS + 4 * <usize>(SUB_VOXELS_WIDE * SUB_VOXELS_WIDE);
/** Bytes of these addresses for one lattice. */
export const VOXEL_HEADS_BYTES: usize = 4 * <usize>(VOXELS_WIDE * VOXELS_WIDE);
/** First address behind the regions of fixed size. */
export const FREE: usize = VOXEL_HEADS + 2 * VOXEL_HEADS_BYTES;

/** Makes sure that there is memory up to address `end`. @returns false where the engine refuses it */
export function reserve(end: usize): bool {
  const pages = <i32>((end + 65535) >> 16) - memory.size();
  return pages <= 0 || memory.grow(pages) >= 0;
}

/** The next multiple of 16. */
export function aligned(address: usize): usize {
  return (address + 15) & ~15;
}

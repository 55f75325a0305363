// Where things are. What is fixed comes first; what depends on the size of an area follows, made anew for each area.

/** A cube, as it comes: column, row, level, pass (i32), then x y z n | xx yy zz n | xy yz zx n (u32). */
export const CUBE: usize = 64;
/** The same in the wide form: column, row, level, pass (i32), then n, x, y, z, xx, xy, xz, yy, yz, zz (f64). */
export const WIDE: usize = 96;
/** A cube or voxel, as it is kept: the wide form, then the next one over the same square of the plan. */
export const RECORD: usize = 112;
export const NEXT: usize = 96;

/** Cubes that come in one go. */
export const MOST_IN: i32 = 4096;
/** Passes that an area may hold, and groups that what is found in it may have: every two of 361 passes. */
export const MOST_PASSES: i32 = 4096;
export const MOST_GROUPS: i32 = 65_536;

/** Behind the first page, in which the compiler keeps constants. */
export const INPUT: usize = 65_536;
export const PASSES: usize = INPUT + <usize>MOST_IN * WIDE;
export const GROUPS: usize = PASSES + 4 * <usize>MOST_PASSES;
export const GROUP_ENTRIES: usize = GROUPS + 32 * <usize>MOST_GROUPS;
/** First record over each square of the plan: one cube wide, then one voxel wide for either lattice. */
export const CUBE_HEADS: usize = GROUP_ENTRIES + 8 * <usize>MOST_GROUPS;
export const CUBES_WIDE: i32 = 128;
export const VOXELS_WIDE: i32 = 64;
export const VOXEL_HEADS: usize = CUBE_HEADS + 4 * <usize>(CUBES_WIDE * CUBES_WIDE);
export const VOXEL_HEADS_EACH: usize = 4 * <usize>(VOXELS_WIDE * VOXELS_WIDE);
export const FREE: usize = VOXEL_HEADS + 2 * VOXEL_HEADS_EACH;

/** Makes sure that there is memory up to `end`. @returns false where it is refused */
export function reserve(end: usize): bool {
  const pages = <i32>((end + 65535) >> 16) - memory.size();
  return pages <= 0 || memory.grow(pages) >= 0;
}

/** Up to the next multiple of 16. */
export function aligned(address: usize): usize {
  return (address + 15) & ~15;
}

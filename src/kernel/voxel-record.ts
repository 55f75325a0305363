/**
 * Bytes of the moments of points in a voxel, small form: column, row, level, pass (i32), then the sums x y z n, xx yy zz n,
 * xy yz zx n (u32) of coordinates from the voxel's lower corner, in quanta. Points are added to this form.
 */
export const VOXEL_BYTES = 64;
/** Bytes of the wide form, which holds any number of points: column, row, level, pass (i32), n x y z xx xy xz yy yz zz (f64). */
export const WIDE_BYTES = 96;

/** Consecutive voxels of one form; the same key may occur more than once. */
export interface MomentVoxels {
  wide: boolean;
  /** Starts at a multiple of eight. */
  bytes: Uint8Array;
}

/** Bytes of one voxel. */
export function bytesOf(wide: boolean): number {
  return wide ? WIDE_BYTES : VOXEL_BYTES;
}

/** Number of voxels. */
export function countVoxels({ wide, bytes }: MomentVoxels): number {
  return bytes.byteLength / bytesOf(wide);
}

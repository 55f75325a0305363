/**
 * Moments of points in a cube, in two forms. The small one is what points are added to: column, row, level, pass, then the
 * sums x y z n, xx yy zz n, xy yz zx n, from the cube's lower corner, all of 32 bits, those of the sums without sign.
 */
export const VOXEL_BYTES = 64;
/** The wide one holds any number of points: column, row, level, pass (32 bits), then n x y z xx xy xz yy yz zz (64 bits). */
export const WIDE_BYTES = 96;

/** Cubes of one form, one after the other; the same place and pass may be there more than once. */
export interface MomentVoxels {
  wide: boolean;
  /** At a multiple of eight. */
  bytes: Uint8Array;
}

/** Bytes of a cube. */
export function bytesOf(wide: boolean): number {
  return wide ? WIDE_BYTES : VOXEL_BYTES;
}

export function countVoxels({ wide, bytes }: MomentVoxels): number {
  return bytes.byteLength / bytesOf(wide);
}

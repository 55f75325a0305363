// Shared by the functions that visit voxels. Each of them returns the address of its columns, or 0 where memory is short.
import { gather, list } from './block';
import { VOXEL_HEADS, VOXEL_HEADS_BYTES, VOXELS_WIDE } from './memory';
import { sort } from './order';

/** Address of record number i of the gathered chain. */
// @ts-ignore: decorator
@inline
export function at(i: i32): usize {
  return load<u32>(list + (<usize>i << 2));
}

/** Visits the voxels of both lattices, row by row; calls `visit` for the passes of each voxel, from the lowest level up. */
export function visitVoxels(visit: (from: i32, to: i32) => bool): bool {
  for (let lattice = 0; lattice < 2; lattice++) {
    const heads = VOXEL_HEADS + <usize>lattice * VOXEL_HEADS_BYTES;
    for (let square = 0; square < VOXELS_WIDE * VOXELS_WIDE; square++) {
      const n = gather(heads + (<usize>square << 2), 0);
      if (n == 0) continue;
      sort(list, n, true);
      for (let from = 0; from < n; ) {
        let to = from + 1;
        while (to < n && load<i32>(at(to), 8) == load<i32>(at(from), 8)) to++;
        if (!visit(from, to)) return false;
        from = to;
      }
    }
  }
  return true;
}

/** Writes the corner of the voxel (three i32) and the position in it, rounded to quanta (three u16). */
export function storePosition(record: usize, voxel: usize, x: f64, y: f64, z: f64): void {
  store<u64>(record, load<u64>(voxel));
  store<i32>(record, load<i32>(voxel, 8), 8);
  store<u16>(record, <u16>Math.round(x), 12);
  store<u16>(record, <u16>Math.round(y), 14);
  store<u16>(record, <u16>Math.round(z), 16);
}

/** Copies corner (12 bytes) and position (6 bytes) of a record to the columns. */
export function copyCorner(record: usize, corner: usize, offset: usize): void {
  store<u64>(corner, load<u64>(record));
  store<u32>(corner, load<u32>(record, 8), 8);
  store<u32>(offset, load<u32>(record, 12));
  store<u16>(offset, load<u16>(record, 16), 4);
}

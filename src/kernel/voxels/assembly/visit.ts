// What the visits of voxels have in common. Each answers where its columns are: an address, or 0 where there is not memory
// enough.
import { gather, list } from './area';
import { VOXEL_HEADS, VOXEL_HEADS_EACH, VOXELS_WIDE } from './memory';
import { sort } from './order';

/** Record number i of those that were gathered. */
// @ts-ignore: decorator
@inline
export function at(i: i32): usize {
  return load<u32>(list + (<usize>i << 2));
}

/** Goes through the voxels of both lattices, row by row, over each square by level and pass. */
export function visitVoxels(visit: (from: i32, to: i32) => bool): bool {
  for (let lattice = 0; lattice < 2; lattice++) {
    const heads = VOXEL_HEADS + <usize>lattice * VOXEL_HEADS_EACH;
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

/** Corner of the voxel, and the place in it to the nearest quantum. */
export function placeIn(record: usize, voxel: usize, x: f64, y: f64, z: f64): void {
  store<u64>(record, load<u64>(voxel));
  store<i32>(record, load<i32>(voxel, 8), 8);
  store<u16>(record, <u16>Math.round(x), 12);
  store<u16>(record, <u16>Math.round(y), 14);
  store<u16>(record, <u16>Math.round(z), 16);
}

/** Takes both out of a record. */
export function copyCorner(record: usize, corner: usize, offset: usize): void {
  store<u64>(corner, load<u64>(record));
  store<u32>(corner, load<u32>(record, 8), 8);
  store<u32>(offset, load<u32>(record, 12));
  store<u16>(offset, load<u16>(record, 16), 4);
}

/**
 * Bytes of a group head: column and row of its block, 1 if its voxels belong to adjacent blocks, and the address where its
 * voxels end (i32 each).
 */
const HEAD_BYTES: usize = 16;

// Number of groups, the number there is room for, the address of their heads, and the head found last.
let groups: i32 = 0;
let most: i32 = 0;
let heads: usize = 0;
let lastGroup: usize = 0;

/**
 * Groups voxels by processing block: the voxels of one block are written consecutively at `to`, group after group, in the
 * order of the heads at `first`. A voxel at the western or southern border of a block is also written to the adjacent block
 * on that side (halo 1), because voxels of the second lattice start at the last sub-voxel of a block.
 *
 * @param voxels address of the voxels
 * @param voxelBytes bytes of a voxel, a multiple of 16; column and row come first (i32)
 * @param shift a block is 2^shift voxels wide
 * @param first address of the group heads, 16 bytes each
 * @param room number of groups there is room for, at least four
 * @param marks address of scratch memory: four i32 a voxel
 * @param to address of the output: room for every voxel four times
 * @returns number of voxels processed: below `count` when there are more groups than room
 */
export function cutByBlock(
  voxels: usize,
  count: i32,
  voxelBytes: usize,
  shift: i32,
  first: usize,
  room: i32,
  marks: usize,
  to: usize,
): i32 {
  groups = 0;
  most = room;
  heads = first;
  lastGroup = first;
  const inside = (1 << shift) - 1;
  let done = 0;
  // First the groups of every voxel, with counts; then the begin of every group; then the voxels are copied.
  for (; done < count; done++) {
    const voxel = voxels + <usize>done * voxelBytes;
    const x = load<i32>(voxel);
    const y = load<i32>(voxel, 4);
    const column = x >> shift;
    const row = y >> shift;
    const west = (x & inside) == 0;
    const south = (y & inside) == 0;
    const mark = marks + (<usize>done << 4);
    if ((west || south) && groups + 4 > most) break;
    const own = group(column, row, 0);
    if (own < 0) break;
    store<i32>(mark, own);
    store<i32>(mark, west ? group(column - 1, row, 1) : -1, 4);
    store<i32>(mark, south ? group(column, row - 1, 1) : -1, 8);
    store<i32>(mark, west && south ? group(column - 1, row - 1, 1) : -1, 12);
    for (let k: usize = 0; k < 16; k += 4) {
      const at = load<i32>(mark + k);
      if (at >= 0) more(first + <usize>at * HEAD_BYTES, 1);
    }
  }
  let begin = to;
  for (let g = 0; g < groups; g++) {
    const head = first + <usize>g * HEAD_BYTES;
    const end = begin + <usize>load<i32>(head, 12) * voxelBytes;
    store<u32>(head, <u32>begin, 12);
    begin = end;
  }
  for (let i = 0; i < done; i++) {
    const voxel = voxels + <usize>i * voxelBytes;
    const mark = marks + (<usize>i << 4);
    for (let k: usize = 0; k < 16; k += 4) {
      const at = load<i32>(mark + k);
      if (at < 0) continue;
      const head = first + <usize>at * HEAD_BYTES;
      const target = <usize>load<u32>(head, 12);
      for (let b: usize = 0; b < voxelBytes; b += 16) v128.store(target + b, v128.load(voxel + b));
      more(head, <i32>voxelBytes);
    }
  }
  return done;
}

/** Number of groups of the last `cutByBlock`. */
export function cutGroupCount(): i32 {
  return groups;
}

function more(head: usize, by: i32): void {
  store<i32>(head, load<i32>(head, 12) + by, 12);
}

/** Number of a group, made if it is new; -1 where there is no room. */
function group(column: i32, row: i32, halo: i32): i32 {
  if (groups > 0 && is(lastGroup, column, row, halo)) return <i32>((lastGroup - heads) / HEAD_BYTES);
  for (let g = 0; g < groups; g++) {
    const head = heads + <usize>g * HEAD_BYTES;
    if (!is(head, column, row, halo)) continue;
    // Only blocks that hold the voxel itself are remembered: the next voxel is rarely in the same halo.
    if (halo == 0) lastGroup = head;
    return g;
  }
  if (groups == most) return -1;
  const head = heads + <usize>groups * HEAD_BYTES;
  store<i32>(head, column);
  store<i32>(head, row, 4);
  store<i32>(head, halo, 8);
  store<i32>(head, 0, 12);
  groups++;
  return groups - 1;
}

// @ts-ignore: decorator
@inline
function is(head: usize, column: i32, row: i32, halo: i32): bool {
  return load<i32>(head) == column && load<i32>(head, 4) == row && load<i32>(head, 8) == halo;
}

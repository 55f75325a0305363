import { allocate, inputAddress, loops } from './loops.js';
import { bytesOf, type MomentVoxels, WIDE_BYTES } from './voxel-record.js';

/** An area is 128 x 128 cubes in plan, all heights: 32 m with cubes of 0.25 m. */
const BLOCK_SHIFT = 7;
export const BLOCK_SIDE = 1 << BLOCK_SHIFT;

/** Cubes that are sorted in one go, and how often one may be needed. */
const AT_ONCE = 1024;
const TIMES = 4;
const MOST_GROUPS = 64;
const HEAD_WORDS = 4;
const input = allocate(Uint8Array, AT_ONCE * WIDE_BYTES);
const heads = allocate(Int32Array, MOST_GROUPS * HEAD_WORDS);
const marks = allocate(Int32Array, AT_ONCE * TIMES);
const output = allocate(Int32Array, (AT_ONCE * TIMES * WIDE_BYTES) / 4);

/**
 * Cubes by area: calls `visit` with those of one area after the other, `rim` 1 for cubes of the next areas that it needs
 * besides. The words are reused: they are to be copied before it returns.
 */
export function cutByBlock(
  cubes: MomentVoxels,
  visit: (column: number, row: number, rim: number, words: Int32Array) => void,
): void {
  const each = bytesOf(cubes.wide);
  const count = cubes.bytes.byteLength / each;
  for (let from = 0; from < count; ) {
    const most = Math.min(AT_ONCE, count - from);
    const at = inputAddress(cubes.bytes, from * each, most * each, input);
    from += loops.cutByArea(at, most, each, BLOCK_SHIFT, heads.address, MOST_GROUPS, marks.address, output.address);
    const groups = loops.groupsCut();
    for (let g = 0, begin = 0; g < groups; g++) {
      const h = g * HEAD_WORDS;
      const end = (heads.view[h + 3] - output.address) / 4;
      visit(heads.view[h], heads.view[h + 1], heads.view[h + 2], output.view.subarray(begin, end));
      begin = end;
    }
  }
}

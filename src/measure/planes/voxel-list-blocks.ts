import { bytesOf, type MomentVoxels } from '../../kernel/voxel-record.js';
import { takeBuffer } from './spare-blocks.js';

/** Words before the cubes of a block: what it holds, edge of a cube, number of cubes, nothing. */
export const HEAD = 4;
/** What a block holds: cubes in the small form, or in the wide one. */
const SMALL = 0x504d4f34;
const WIDE = 0x504d4f35;

/** Words of a first block, for few cubes: there may be very many lists that stay short. */
const FIRST_WORDS = HEAD + 480;

/** An empty block; what it held before is still there. */
export function takeVoxelBuffer(): Int32Array {
  return new Int32Array(takeBuffer());
}

export function takeFirstBuffer(): Int32Array {
  return new Int32Array(FIRST_WORDS);
}

/** Notes what a block holds. @param words how many are filled, its head among them */
export function sealBuffer(block: Int32Array, wide: boolean, side: number, words: number): void {
  block.set([wide ? WIDE : SMALL, side, ((words - HEAD) * 4) / bytesOf(wide), 0]);
}

/** The cubes in a block, where they lie. @throws RangeError for something else, or cubes of another edge */
export function openBuffer(packed: ArrayBuffer, side: number): MomentVoxels {
  const [holds, edge, count] = new Int32Array(packed, 0, HEAD);
  if ((holds !== SMALL && holds !== WIDE) || edge !== side)
    throw new RangeError('these plane moments were measured otherwise');
  const wide = holds === WIDE;
  return { wide, bytes: new Uint8Array(packed, HEAD * 4, count * bytesOf(wide)) };
}

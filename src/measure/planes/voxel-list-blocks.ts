import { bytesOf, type MomentVoxels } from '../../kernel/voxel-record.js';
import { takeBuffer } from './spare-blocks.js';

/** Words before the voxels of a buffer: kind, edge of a voxel, number of voxels, unused. */
export const HEAD = 4;
/** Kind of a buffer: voxels in the small form, or in the wide form. */
const SMALL = 0x504d4f34;
const WIDE = 0x504d4f35;

/** Words of the first buffer of a list. It is small, because many lists stay short. */
const FIRST_WORDS = HEAD + 480;

/** An empty buffer. Its bytes are not cleared. */
export function takeVoxelBuffer(): Int32Array {
  return new Int32Array(takeBuffer());
}

/** A small buffer to begin a list with. */
export function takeFirstBuffer(): Int32Array {
  return new Int32Array(FIRST_WORDS);
}

/** Writes the head of a buffer. @param words how many are filled, with the head */
export function sealBuffer(block: Int32Array, wide: boolean, side: number, words: number): void {
  block.set([wide ? WIDE : SMALL, side, ((words - HEAD) * 4) / bytesOf(wide), 0]);
}

/** The voxels in a buffer, as a view. @throws RangeError for other bytes, or voxels of another edge */
export function openBuffer(packed: ArrayBuffer, side: number): MomentVoxels {
  const [holds, edge, count] = new Int32Array(packed, 0, HEAD);
  if ((holds !== SMALL && holds !== WIDE) || edge !== side)
    throw new RangeError('these plane moments were measured otherwise');
  const wide = holds === WIDE;
  return { wide, bytes: new Uint8Array(packed, HEAD * 4, count * bytesOf(wide)) };
}

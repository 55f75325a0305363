import { type MomentVoxels, VOXEL_BYTES, WIDE_BYTES } from '../../kernel/voxel-record.js';
import { KeyTable } from '../cells/key-table.js';

/** Most points a voxel may hold, and what is thrown when it holds more. */
export interface PointGuard {
  mostPoints: number;
  tooMany: () => Error;
}

/** Words of a voxel in either form. */
const SMALL = VOXEL_BYTES / 4;
const WIDE = WIDE_BYTES / 4;
/** n x y z xx xy xz yy yz zz: which word each is in the small form; in the wide form they follow the key in this order. */
const IN_SMALL = [7, 4, 5, 6, 8, 12, 14, 9, 13, 10] as const;
const SUMS = IN_SMALL.length;
const NUMBERS_OF_KEY = 2;

/**
 * Voxels with the same location and pass added together, in the wide form, sorted by column, row, level and pass.
 * @throws what the guard returns, where a voxel holds too many points
 */
export function mergeVoxels(parts: readonly MomentVoxels[], { mostPoints, tooMany }: PointGuard): Int32Array {
  const keys = new KeyTable();
  let sums = new Float64Array(1024 * SUMS);
  for (const part of parts) {
    const { wide, bytes } = part;
    const words = new Int32Array(bytes.buffer, bytes.byteOffset, bytes.byteLength / 4);
    const numbers = wide ? new Float64Array(bytes.buffer, bytes.byteOffset, bytes.byteLength / 8) : null;
    const each = wide ? WIDE : SMALL;
    for (let w = 0; w < words.length; w += each) {
      const to = keys.add(words[w], words[w + 1], words[w + 2], words[w + 3]) * SUMS;
      if (to + SUMS > sums.length) sums = grown(sums);
      if (numbers) for (let k = 0; k < SUMS; k++) sums[to + k] += numbers[w / 2 + NUMBERS_OF_KEY + k];
      else for (let k = 0; k < SUMS; k++) sums[to + k] += words[w + IN_SMALL[k]] >>> 0;
      if (sums[to] > mostPoints) throw tooMany();
    }
  }
  return inOrder(keys, sums);
}

function grown(sums: Float64Array): Float64Array<ArrayBuffer> {
  const larger = new Float64Array(sums.length * 2);
  larger.set(sums);
  return larger;
}

function inOrder(keys: KeyTable, sums: Float64Array): Int32Array {
  const order = keys.sorted();
  const merged = new Int32Array(order.length * WIDE);
  const numbers = new Float64Array(merged.buffer);
  for (let i = 0; i < order.length; i++) {
    for (let k = 0; k < 4; k++) merged[i * WIDE + k] = keys.part(order[i], k);
    numbers.set(sums.subarray(order[i] * SUMS, (order[i] + 1) * SUMS), (i * WIDE) / 2 + NUMBERS_OF_KEY);
  }
  return merged;
}

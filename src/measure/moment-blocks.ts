import { KeyTable } from './key-table.js';

/** Numbers kept for each pass and sub-voxel: n, sums of x y z, sums of xx xy xz yy yz zz; from the sub-voxel's corner. */
export const MOMENTS = 10;
/** A block is 8 x 8 x 8 sub-voxels: a lookup is needed only where the scan leaves a block. */
export const BLOCK_SIDE = 8;
export const BLOCK_SLOTS = BLOCK_SIDE ** 3;

const FIRST_BLOCKS = 8;
const FIRST_RECORDS = 256;

/** Moments of the sub-voxels of one area, block by block. */
export interface MomentBlocks {
  /** Keys: pass, block x, block y, block z. */
  keys: KeyTable;
  /** BLOCK_SLOTS entries a block: slot -> record + 1, 0 for none; slot = (z * 8 + y) * 8 + x of the sub-voxel in the block. */
  slots: Int32Array;
  records: number;
  /** MOMENTS numbers a record; grows by doubling. */
  moments: Float64Array;
}

/** Blocks given back, with their arrays: fresh memory costs more than all the sums in it. Of this thread. */
const spare: MomentBlocks[] = [];
const MOST_SPARE = 24;

/** No block yet. */
export function createMomentBlocks(): MomentBlocks {
  const known = spare.pop();
  if (known) {
    known.slots.fill(0, 0, known.keys.size * BLOCK_SLOTS);
    known.keys.clear();
    known.records = 0;
    return known;
  }
  return {
    keys: new KeyTable(),
    slots: new Int32Array(FIRST_BLOCKS * BLOCK_SLOTS),
    records: 0,
    moments: new Float64Array(FIRST_RECORDS * MOMENTS),
  };
}

/** Gives back blocks that nobody will look at again. */
export function recycle(blocks: MomentBlocks): void {
  if (spare.length < MOST_SPARE) spare.push(blocks);
}

/** Where the slots of the block begin; the block is made if it is new. */
export function openBlock(blocks: MomentBlocks, pass: number, bx: number, by: number, bz: number): number {
  const at = blocks.keys.add(pass, bx, by, bz) * BLOCK_SLOTS;
  if (at === blocks.slots.length) {
    const grown = new Int32Array(at * 2);
    grown.set(blocks.slots);
    blocks.slots = grown;
  }
  return at;
}

/** Record of a sub-voxel, made if it is new. */
export function openRecord(blocks: MomentBlocks, slot: number): number {
  const known = blocks.slots[slot];
  if (known !== 0) return known - 1;
  const record = blocks.records++;
  blocks.slots[slot] = record + 1;
  const at = record * MOMENTS;
  if (at + MOMENTS > blocks.moments.length) {
    const grown = new Float64Array(blocks.moments.length * 2);
    grown.set(blocks.moments);
    blocks.moments = grown;
  } else blocks.moments.fill(0, at, at + MOMENTS);
  return record;
}

/** Bytes `packBlocks` will write. */
export function packedBytes(blocks: MomentBlocks): number {
  return bytesOf(blocks.keys.size, blocks.records);
}

function bytesOf(blocks: number, records: number): number {
  return padded(8 + blocks * 20 + records * 2) + records * MOMENTS * 8;
}

/** Writes all blocks, sorted, at an offset that is a multiple of 8: counts, then keys with record counts, slots, moments. */
export function packBlocks(blocks: MomentBlocks, buffer: ArrayBuffer, offset: number): void {
  const order = blocks.keys.sorted();
  const { keys, slots, moments } = layOut(buffer, offset, order.length, blocks.records);
  const source = blocks.moments;
  let at = 0;
  for (let i = 0; i < order.length; i++) {
    const block = order[i];
    const before = at;
    const start = block * BLOCK_SLOTS;
    for (let slot = 0; slot < BLOCK_SLOTS; slot++) {
      const record = blocks.slots[start + slot];
      if (record === 0) continue;
      slots[at] = slot;
      const from = (record - 1) * MOMENTS;
      const to = at * MOMENTS;
      for (let k = 0; k < MOMENTS; k++) moments[to + k] = source[from + k];
      at++;
    }
    for (let k = 0; k < 4; k++) keys[i * 5 + k] = blocks.keys.part(block, k);
    keys[i * 5 + 4] = at - before;
  }
}

function layOut(buffer: ArrayBuffer, offset: number, blocks: number, records: number): PackedBlocks {
  new Int32Array(buffer, offset, 2).set([blocks, records]);
  return readBlocks(buffer, offset);
}

/** Blocks written by `packBlocks`, read where they lie. */
export interface PackedBlocks {
  /** Five numbers a block: pass, x, y, z, records. */
  keys: Int32Array;
  slots: Uint16Array;
  moments: Float64Array;
  /** Where the next begin. */
  end: number;
}

/** Views on packed blocks; nothing is copied. */
export function readBlocks(buffer: ArrayBuffer, offset: number): PackedBlocks {
  const [blocks, records] = new Int32Array(buffer, offset, 2);
  const momentsAt = offset + padded(8 + blocks * 20 + records * 2);
  return {
    keys: new Int32Array(buffer, offset + 8, blocks * 5),
    slots: new Uint16Array(buffer, offset + 8 + blocks * 20, records),
    moments: new Float64Array(buffer, momentsAt, records * MOMENTS),
    end: momentsAt + records * MOMENTS * 8,
  };
}

/** Adds packed blocks. @returns the largest number of points any record then holds */
export function absorbBlocks(blocks: MomentBlocks, { keys, slots, moments }: PackedBlocks): number {
  let most = 0;
  let at = 0;
  for (let k = 0; k < keys.length; k += 5) {
    const block = openBlock(blocks, keys[k], keys[k + 1], keys[k + 2], keys[k + 3]);
    for (let end = at + keys[k + 4]; at < end; at++) {
      const to = openRecord(blocks, block + slots[at]) * MOMENTS;
      const from = at * MOMENTS;
      const target = blocks.moments;
      for (let m = 0; m < MOMENTS; m++) target[to + m] += moments[from + m];
      if (target[to] > most) most = target[to];
    }
  }
  return most;
}

/**
 * The lowest sub-voxels, along x, y or both, of the blocks for which `isLow` answers true: what the area before needs of
 * this one. `place` makes the buffer, given the bytes, and says where in it to write; null when there are none.
 */
export function packRim(
  { keys, slots, moments }: PackedBlocks,
  along: { x: boolean; y: boolean },
  isLow: (bx: number, by: number) => boolean,
  place: (bytes: number) => { buffer: ArrayBuffer; offset: number },
): ArrayBuffer | null {
  const chosen: number[] = [];
  const records: number[] = [];
  for (let k = 0, at = 0; k < keys.length; at += keys[k + 4], k += 5) {
    if (!isLow(keys[k + 1], keys[k + 2])) continue;
    const before = records.length;
    for (let r = at; r < at + keys[k + 4]; r++) {
      if (!(along.x && (slots[r] & 7) !== 0) && !(along.y && (slots[r] & 56) !== 0)) records.push(r);
    }
    if (records.length > before) chosen.push(k, records.length - before);
  }
  if (records.length === 0) return null;
  const { buffer, offset } = place(bytesOf(chosen.length / 2, records.length));
  const out = layOut(buffer, offset, chosen.length / 2, records.length);
  for (let i = 0; i < chosen.length; i += 2) {
    out.keys.set(keys.subarray(chosen[i], chosen[i] + 4), (i / 2) * 5);
    out.keys[(i / 2) * 5 + 4] = chosen[i + 1];
  }
  records.forEach((r, at) => {
    out.slots[at] = slots[r];
    out.moments.set(moments.subarray(r * MOMENTS, (r + 1) * MOMENTS), at * MOMENTS);
  });
  return buffer;
}

function padded(bytes: number): number {
  return Math.ceil(bytes / 8) * 8;
}

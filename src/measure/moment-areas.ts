import type { KeyTable } from './key-table.js';
import type { AreaPiece } from './measurement.js';
import {
  absorbBlocks,
  createMomentBlocks,
  type MomentBlocks,
  packBlocks,
  packedBytes,
  packRim,
  readBlocks,
} from './moment-blocks.js';

/** An area is 16 x 16 blocks in plan, all heights: 32 m with sub-voxels of 0.25 m. */
export const AREA_SHIFT = 4;
export const AREA_SIDE = 1 << AREA_SHIFT;

/** Moments of sub-voxels, area by area. */
export interface MomentAreas {
  /** Edge of a sub-voxel, in quanta of the state. */
  side: number;
  /** Keys: area column, area row, 0, 0. */
  areas: KeyTable;
  blocks: MomentBlocks[];
}

const MAGIC = 0x504d4f32;
const HEAD = 16;
/** Column and row of an area, before its blocks. */
const AREA_HEAD = 8;

/** Blocks of an area, which is made if it is new. */
export function openArea(state: MomentAreas, column: number, row: number): MomentBlocks {
  const index = state.areas.add(column, row, 0, 0);
  if (index === state.blocks.length) state.blocks.push(createMomentBlocks());
  return state.blocks[index];
}

/** Canonical bytes: areas sorted by column and row, blocks sorted by key. */
export function packAreas(state: MomentAreas): ArrayBuffer {
  const order = state.areas.sorted();
  let bytes = 0;
  for (const area of order) bytes += AREA_HEAD + packedBytes(state.blocks[area]);
  const buffer = startPack(state.side, order.length, bytes);
  let offset = HEAD;
  for (const area of order) {
    new Int32Array(buffer, offset, 2).set([state.areas.part(area, 0), state.areas.part(area, 1)]);
    packBlocks(state.blocks[area], buffer, offset + AREA_HEAD);
    offset += AREA_HEAD + packedBytes(state.blocks[area]);
  }
  return buffer;
}

/**
 * Adds a packed state.
 * @returns the largest number of points any record then holds
 * @throws RangeError for moments of other sub-voxels
 */
export function absorbAreas(state: MomentAreas, packed: ArrayBuffer): number {
  let most = 0;
  forEachArea(packed, (side, column, row, offset) => {
    if (side !== state.side) throw new RangeError('these plane moments were measured otherwise');
    const read = readBlocks(packed, offset);
    most = Math.max(most, absorbBlocks(openArea(state, column, row), read));
    return read.end;
  });
  return most;
}

/** The rims an area gives to its lower neighbours: in the second lattice, voxels start at the last sub-voxel of an area. */
const RIMS = [
  { dx: -1, dy: 0, along: { x: true, y: false } },
  { dx: 0, dy: -1, along: { x: false, y: true } },
  { dx: -1, dy: -1, along: { x: true, y: true } },
];

/** Cuts the state into its areas, each packed alone, and the rims that they give to others. */
export function cutAreas(state: MomentAreas): AreaPiece[] {
  const pieces: AreaPiece[] = [];
  for (const area of state.areas.sorted()) {
    const [column, row] = [state.areas.part(area, 0), state.areas.part(area, 1)];
    const start = (dx: number, dy: number, bytes: number) => {
      const buffer = startPack(state.side, 1, AREA_HEAD + bytes);
      new Int32Array(buffer, HEAD, 2).set([column + dx, row + dy]);
      return { buffer, offset: HEAD + AREA_HEAD };
    };
    const own = start(0, 0, packedBytes(state.blocks[area]));
    packBlocks(state.blocks[area], own.buffer, own.offset);
    pieces.push({ column, row, packed: own.buffer });
    const read = readBlocks(own.buffer, own.offset);
    for (const { dx, dy, along } of RIMS) {
      const isLow = (bx: number, by: number) =>
        !(along.x && (bx & (AREA_SIDE - 1)) !== 0) && !(along.y && (by & (AREA_SIDE - 1)) !== 0);
      const rim = packRim(read, along, isLow, (bytes) => start(dx, dy, bytes));
      if (rim) pieces.push({ column: column + dx, row: row + dy, packed: rim });
    }
  }
  return pieces;
}

function startPack(side: number, areas: number, bytes: number): ArrayBuffer {
  const buffer = new ArrayBuffer(HEAD + bytes);
  new Int32Array(buffer, 0, 4).set([MAGIC, side, areas, 0]);
  return buffer;
}

/** Walks the areas of a packed state; `visit` gets where the blocks begin and says where they end. */
function forEachArea(
  packed: ArrayBuffer,
  visit: (side: number, column: number, row: number, offset: number) => number,
): void {
  const [magic, side, areas] = new Int32Array(packed, 0, 4);
  if (magic !== MAGIC) throw new RangeError('these are not packed plane moments');
  for (let i = 0, offset = HEAD; i < areas; i++) {
    const [column, row] = new Int32Array(packed, offset, 2);
    offset = visit(side, column, row, offset + AREA_HEAD);
  }
}

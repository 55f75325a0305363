import { KeyTable } from './key-table.js';
import { AREA_SHIFT } from './moment-areas.js';
import { BLOCK_SIDE, BLOCK_SLOTS, MOMENTS, type MomentBlocks } from './moment-blocks.js';
import type { PlaneMoments } from './plane-moments.js';

/** Voxels along the edge of a lattice block: each is two sub-voxels wide. */
const VOXELS = BLOCK_SIDE / 2;
const VOXELS_IN_BLOCK = VOXELS ** 3;

/** One area of a state, and which it is. Blocks of the rim belong to the areas beside it. */
export interface Area {
  column: number;
  row: number;
  /** Edge of a sub-voxel, quanta of the state. */
  side: number;
  blocks: MomentBlocks;
}

/** The area with its rim out of a state that holds nothing else. */
export function areaOf(state: PlaneMoments, { column, row }: { column: number; row: number }): Area | null {
  const index = state.areas.find(column, row, 0, 0);
  return index < 0 ? null : { column, row, side: state.side, blocks: state.blocks[index] };
}

/** Whether a block lies in the area itself, not in its rim. */
export function isOwn({ column, row }: Area, bx: number, by: number): boolean {
  return bx >> AREA_SHIFT === column && by >> AREA_SHIFT === row;
}

/** One voxel: the moments of each pass that has points in it. Reused from call to call. */
export interface VoxelGroup {
  /** Voxel position in sub-voxels: its lower corner. */
  corner: [number, number, number];
  /** Passes present, ascending, and where their MOMENTS numbers start in `moments`. */
  count: number;
  pass: Int32Array;
  at: Int32Array;
  /** Sums from the voxel's lower corner, in quanta of the state. */
  moments: Float64Array;
}

/** The passes that hold points, ascending. */
export function passesOf({ blocks: { keys } }: Area): number[] {
  const passes = new Set<number>();
  for (let b = 0; b < keys.size; b++) passes.add(keys.part(b, 0));
  return [...passes].sort((a, b) => a - b);
}

/**
 * Visits every voxel of one lattice that starts in the area and holds points, in a fixed order. `lattice` 0 starts voxels
 * at even sub-voxels, 1 at odd ones: half a voxel apart in all three axes, so that a surface lying on a voxel face of one
 * lattice runs through the middle of the other's voxels. Moments of a voxel are the exact sum of its eight sub-voxels,
 * their origins shifted in integers.
 */
export function visitVoxels(
  area: Area,
  lattice: 0 | 1,
  passes: readonly number[],
  visit: (group: VoxelGroup) => void,
): void {
  const pieces = collectPieces(area, lattice, passes);
  // Only the passes that reach into a lattice block have room in it: a file may number thousands of passes.
  const here: number[] = [];
  const rank = new Int32Array(passes.length).fill(-1);
  let scratch = new Float64Array(0);
  const group: VoxelGroup = {
    corner: [0, 0, 0],
    count: 0,
    pass: new Int32Array(passes.length),
    at: new Int32Array(passes.length),
    moments: scratch,
  };
  for (const place of pieces.places.sorted()) {
    here.length = 0;
    for (let piece = pieces.first[place]; piece >= 0; piece = pieces.next[piece]) {
      const p = pieces.passAt[piece];
      if (rank[p] >= 0) continue;
      rank[p] = 0;
      here.push(p);
    }
    here.sort((p, q) => p - q);
    for (let k = 0; k < here.length; k++) rank[here[k]] = k;
    const room = here.length * VOXELS_IN_BLOCK * MOMENTS;
    if (scratch.length < room) scratch = new Float64Array(room);
    else scratch.fill(0, 0, room);
    group.moments = scratch;
    for (let piece = pieces.first[place]; piece >= 0; piece = pieces.next[piece]) {
      fill(area, pieces.block[piece], rank[pieces.passAt[piece]], pieces.shift, piece * 3, scratch);
    }
    for (let v = 0; v < VOXELS_IN_BLOCK; v++) {
      group.count = 0;
      for (let k = 0; k < here.length; k++) {
        const at = (k * VOXELS_IN_BLOCK + v) * MOMENTS;
        if (scratch[at] === 0) continue;
        group.pass[group.count] = passes[here[k]];
        group.at[group.count++] = at;
      }
      if (group.count === 0) continue;
      group.corner[0] = pieces.places.part(place, 0) * BLOCK_SIDE + (v & 3) * 2 + lattice;
      group.corner[1] = pieces.places.part(place, 1) * BLOCK_SIDE + ((v >> 2) & 3) * 2 + lattice;
      group.corner[2] = pieces.places.part(place, 2) * BLOCK_SIDE + (v >> 4) * 2 + lattice;
      visit(group);
    }
    for (const p of here) rank[p] = -1;
  }
}

/** Lattice blocks and the stored blocks that reach into each, as linked lists in flat arrays. */
interface Pieces {
  places: KeyTable;
  first: Int32Array;
  next: Int32Array;
  block: Int32Array;
  passAt: Int32Array;
  /** Sub-voxels to add to a slot's x, y, z to get its place in the lattice block; outside 0..7 belongs elsewhere. */
  shift: Int32Array;
}

function collectPieces(area: Area, lattice: number, passes: readonly number[]): Pieces {
  const { keys, slots } = area.blocks;
  const rank = new Map(passes.map((pass, at) => [pass, at]));
  const places = new KeyTable(keys.size);
  const first: number[] = [];
  const next: number[] = [];
  const block: number[] = [];
  const passAt: number[] = [];
  const shift: number[] = [];
  // The second lattice lies one sub-voxel on: its blocks hold seven eighths of one block and a slice of each of the next.
  const spill = lattice;
  for (let b = 0; b < keys.size; b++) {
    const at = rank.get(keys.part(b, 0));
    if (at === undefined) continue;
    for (let dz = 0; dz <= spill; dz++) {
      for (let dy = 0; dy <= spill; dy++) {
        for (let dx = 0; dx <= spill; dx++) {
          const px = keys.part(b, 1) - dx;
          const py = keys.part(b, 2) - dy;
          if (!isOwn(area, px, py)) continue;
          const mx = dx * 8 - lattice;
          const my = dy * 8 - lattice;
          const mz = dz * 8 - lattice;
          if (!reaches(slots, b * BLOCK_SLOTS, mx, my, mz)) continue;
          const place = places.add(px, py, keys.part(b, 3) - dz, 0);
          if (place === first.length) first.push(-1);
          next.push(first[place]);
          first[place] = block.length;
          block.push(b);
          passAt.push(at);
          shift.push(mx, my, mz);
        }
      }
    }
  }
  return {
    places,
    first: Int32Array.from(first),
    next: Int32Array.from(next),
    block: Int32Array.from(block),
    passAt: Int32Array.from(passAt),
    shift: Int32Array.from(shift),
  };
}

function low(move: number): number {
  return move < 0 ? -move : 0;
}
function high(move: number): number {
  return move > 0 ? 7 - move : 7;
}

function reaches(slots: Int32Array, start: number, mx: number, my: number, mz: number): boolean {
  for (let z = low(mz); z <= high(mz); z++) {
    for (let y = low(my); y <= high(my); y++) {
      for (let x = low(mx); x <= high(mx); x++) if (slots[start + ((z << 6) | (y << 3) | x)] !== 0) return true;
    }
  }
  return false;
}

function fill(
  { blocks, side }: Area,
  block: number,
  passAt: number,
  shift: Int32Array,
  at: number,
  out: Float64Array,
): void {
  const { slots, moments } = blocks;
  const start = block * BLOCK_SLOTS;
  const mx = shift[at];
  const my = shift[at + 1];
  const mz = shift[at + 2];
  for (let z = low(mz); z <= high(mz); z++) {
    for (let y = low(my); y <= high(my); y++) {
      for (let x = low(mx); x <= high(mx); x++) {
        const record = slots[start + ((z << 6) | (y << 3) | x)];
        if (record === 0) continue;
        const lx = x + mx;
        const ly = y + my;
        const lz = z + mz;
        const to = (passAt * VOXELS_IN_BLOCK + ((lz >> 1) << 4) + ((ly >> 1) << 2) + (lx >> 1)) * MOMENTS;
        addShifted(moments, (record - 1) * MOMENTS, (lx & 1) * side, (ly & 1) * side, (lz & 1) * side, out, to);
      }
    }
  }
}

/** Adds moments taken from one corner to sums taken from another that lies (a, b, c) before it. */
function addShifted(m: Float64Array, r: number, a: number, b: number, c: number, out: Float64Array, at: number): void {
  const n = m[r];
  const sx = m[r + 1];
  const sy = m[r + 2];
  const sz = m[r + 3];
  out[at] += n;
  out[at + 1] += sx + n * a;
  out[at + 2] += sy + n * b;
  out[at + 3] += sz + n * c;
  out[at + 4] += m[r + 4] + 2 * a * sx + n * a * a;
  out[at + 5] += m[r + 5] + a * sy + b * sx + n * a * b;
  out[at + 6] += m[r + 6] + a * sz + c * sx + n * a * c;
  out[at + 7] += m[r + 7] + 2 * b * sy + n * b * b;
  out[at + 8] += m[r + 8] + b * sz + c * sy + n * b * c;
  out[at + 9] += m[r + 9] + 2 * c * sz + n * c * c;
}

import { KeyTable } from './key-table.js';
import { BLOCK_SIDE, MOMENTS, type PlaneMoments } from './plane-moments.js';

/** Voxels along the edge of a lattice block: each is two sub-voxels wide. */
const VOXELS = BLOCK_SIDE / 2;
const VOXELS_IN_BLOCK = VOXELS ** 3;

/** Moves a pass by whole sub-voxels before it is compared: used once a gross shift has been found. */
export interface Nudge {
  pass: number;
  by: readonly [number, number, number];
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
export function passesOf(state: PlaneMoments): number[] {
  const passes = new Set<number>();
  for (let b = 0; b < state.blocks.size; b++) passes.add(state.blocks.part(b, 0));
  return [...passes].sort((a, b) => a - b);
}

/**
 * Visits every voxel of one lattice that holds points, in a fixed order. `lattice` 0 starts voxels at even sub-voxels, 1 at odd ones: half a voxel apart in all three
 * axes, so that a surface lying on a voxel face of one lattice runs through the middle of the other's voxels. Moments of
 * a voxel are the exact sum of its eight sub-voxels, their origins shifted in integers.
 */
export function visitVoxels(
  state: PlaneMoments,
  lattice: 0 | 1,
  passes: readonly number[],
  nudge: Nudge | null,
  visit: (group: VoxelGroup) => void,
): void {
  const pieces = collectPieces(state, lattice, passes, nudge);
  const scratch = new Float64Array(passes.length * VOXELS_IN_BLOCK * MOMENTS);
  const group: VoxelGroup = {
    corner: [0, 0, 0],
    count: 0,
    pass: new Int32Array(passes.length),
    at: new Int32Array(passes.length),
    moments: scratch,
  };
  for (const place of pieces.places.sorted()) {
    scratch.fill(0);
    for (let piece = pieces.first[place]; piece >= 0; piece = pieces.next[piece]) {
      fill(state, pieces.block[piece], pieces.passAt[piece], pieces.shift.subarray(piece * 3, piece * 3 + 3), scratch);
    }
    for (let v = 0; v < VOXELS_IN_BLOCK; v++) {
      group.count = 0;
      for (let p = 0; p < passes.length; p++) {
        const at = (p * VOXELS_IN_BLOCK + v) * MOMENTS;
        if (scratch[at] === 0) continue;
        group.pass[group.count] = passes[p];
        group.at[group.count++] = at;
      }
      if (group.count === 0) continue;
      group.corner[0] = pieces.places.part(place, 0) * BLOCK_SIDE + (v & 3) * 2 + lattice;
      group.corner[1] = pieces.places.part(place, 1) * BLOCK_SIDE + ((v >> 2) & 3) * 2 + lattice;
      group.corner[2] = pieces.places.part(place, 2) * BLOCK_SIDE + (v >> 4) * 2 + lattice;
      visit(group);
    }
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

function collectPieces(state: PlaneMoments, lattice: number, passes: readonly number[], nudge: Nudge | null): Pieces {
  const rank = new Map(passes.map((pass, at) => [pass, at]));
  const places = new KeyTable(state.blocks.size);
  const first: number[] = [];
  const next: number[] = [];
  const block: number[] = [];
  const passAt: number[] = [];
  const shift: number[] = [];
  for (let b = 0; b < state.blocks.size; b++) {
    const pass = state.blocks.part(b, 0);
    const at = rank.get(pass);
    if (at === undefined) continue;
    const by = nudge?.pass === pass ? nudge.by : [0, 0, 0];
    const base = [0, 1, 2].map((axis) => state.blocks.part(b, axis + 1) * BLOCK_SIDE + by[axis] - lattice);
    const spill = base.map((start) => ((start & 7) === 0 ? 0 : 1));
    for (let dz = 0; dz <= spill[2]; dz++) {
      for (let dy = 0; dy <= spill[1]; dy++) {
        for (let dx = 0; dx <= spill[0]; dx++) {
          const move = [(base[0] & 7) - dx * 8, (base[1] & 7) - dy * 8, (base[2] & 7) - dz * 8];
          if (!reaches(state.slots[b], move)) continue;
          const place = places.add((base[0] >> 3) + dx, (base[1] >> 3) + dy, (base[2] >> 3) + dz, 0);
          if (place === first.length) first.push(-1);
          next.push(first[place]);
          first[place] = block.length;
          block.push(b);
          passAt.push(at);
          shift.push(...move);
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

function reaches(slots: Int32Array, move: readonly number[]): boolean {
  for (let z = low(move[2]); z <= high(move[2]); z++) {
    for (let y = low(move[1]); y <= high(move[1]); y++) {
      for (let x = low(move[0]); x <= high(move[0]); x++) if (slots[(z << 6) | (y << 3) | x] !== 0) return true;
    }
  }
  return false;
}

function fill(state: PlaneMoments, block: number, passAt: number, move: Int32Array, out: Float64Array): void {
  const slots = state.slots[block];
  const m = state.moments;
  const side = state.side;
  for (let z = low(move[2]); z <= high(move[2]); z++) {
    for (let y = low(move[1]); y <= high(move[1]); y++) {
      for (let x = low(move[0]); x <= high(move[0]); x++) {
        const record = slots[(z << 6) | (y << 3) | x];
        if (record === 0) continue;
        const r = (record - 1) * MOMENTS;
        const lx = x + move[0];
        const ly = y + move[1];
        const lz = z + move[2];
        const at = (passAt * VOXELS_IN_BLOCK + ((lz >> 1) << 4) + ((ly >> 1) << 2) + (lx >> 1)) * MOMENTS;
        addShifted(m, r, (lx & 1) * side, (ly & 1) * side, (lz & 1) * side, out, at);
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

import { KeyTable } from './key-table.js';
import { BLOCK_SIDE, MOMENTS, type PlaneMoments } from './plane-moments.js';

/** Farthest plan shift looked for, in sub-voxels each way: 3 m with voxels of 0.5 m. */
const REACH = 12;
/** Upright columns needed before a plan shift is believed. */
const MIN_UPRIGHT = 50;
/** A column is upright where at least so many sub-voxels above one another hold points. */
const UPRIGHT_LEVELS = 4;
/** Columns sampled for the comparison: enough to be sure, few enough to be quick. */
const SAMPLE = 3000;

/** What the coarse comparison needs of one pass: plan columns of sub-voxels. */
export interface PassOutline {
  pass: number;
  /** Keys: column x, y of a whole voxel. */
  columns: KeyTable;
  /** Mean height of the lowest sub-voxel with points, in quanta of the state, by column index. */
  lowest: Float64Array;
  /** Keys: sub-voxel x, y where the pass shows something upright. */
  upright: KeyTable;
}

export function outlinePasses(state: PlaneMoments, passes: readonly number[]): PassOutline[] {
  return passes.map((pass) => outlinePass(state, pass));
}

function outlinePass(state: PlaneMoments, pass: number): PassOutline {
  const columns = new KeyTable();
  const lowest: number[] = [];
  const levels = new KeyTable();
  const levelCount: number[] = [];
  for (let b = 0; b < state.blocks.size; b++) {
    if (state.blocks.part(b, 0) !== pass) continue;
    const slots = state.slots[b];
    for (let slot = 0; slot < slots.length; slot++) {
      if (slots[slot] === 0) continue;
      const r = (slots[slot] - 1) * MOMENTS;
      const ix = state.blocks.part(b, 1) * BLOCK_SIDE + (slot & 7);
      const iy = state.blocks.part(b, 2) * BLOCK_SIDE + ((slot >> 3) & 7);
      const iz = state.blocks.part(b, 3) * BLOCK_SIDE + (slot >> 6);
      const height = iz * state.side + state.moments[r + 3] / state.moments[r];
      const column = columns.add(ix >> 1, iy >> 1, 0, 0);
      if (column === lowest.length) lowest.push(height);
      else if (height < lowest[column]) lowest[column] = height;
      const level = levels.add(ix, iy, 0, 0);
      levelCount[level] = (levelCount[level] ?? 0) + 1;
    }
  }
  const upright = new KeyTable();
  for (const at of levels.sorted()) {
    if (levelCount[at] >= UPRIGHT_LEVELS) upright.add(levels.part(at, 0), levels.part(at, 1), 0, 0);
  }
  return { pass, columns, lowest: Float64Array.from(lowest), upright };
}

/** Plan columns that both passes have seen. */
export function sharedColumns(a: PassOutline, b: PassOutline): number {
  let shared = 0;
  for (let i = 0; i < a.columns.size; i++) {
    if (b.columns.find(a.columns.part(i, 0), a.columns.part(i, 1), 0, 0) >= 0) shared++;
  }
  return shared;
}

/**
 * Whole sub-voxels by which pass b must be moved before planes of the two passes meet in the same voxels; [0, 0, 0] when
 * they already do. Heights: median difference of the lowest surfaces. Plan: the move that brings most upright columns (walls, poles) together, believed only if it
 * brings half as many again as none, and the shortest such move where a straight wall leaves the choice open.
 */
export function findGrossShift(
  a: PassOutline,
  b: PassOutline,
  side: number,
  minColumns: number,
): [number, number, number] {
  const differences: number[] = [];
  for (let i = 0; i < a.columns.size; i++) {
    const j = b.columns.find(a.columns.part(i, 0), a.columns.part(i, 1), 0, 0);
    if (j >= 0) differences.push(b.lowest[j] - a.lowest[i]);
  }
  let up = 0;
  if (differences.length >= minColumns) {
    differences.sort((p, q) => p - q);
    const median = differences[differences.length >> 1];
    if (Math.abs(median) > side / 2) up = -Math.round(median / side);
  }
  const [east, north] = findPlanShift(a.upright, b.upright);
  return [east, north, up];
}

function findPlanShift(a: KeyTable, b: KeyTable): [number, number] {
  if (a.size < MIN_UPRIGHT || b.size < MIN_UPRIGHT) return [0, 0];
  const stride = Math.max(1, Math.ceil(b.size / SAMPLE));
  const score = (dx: number, dy: number) => {
    let met = 0;
    for (let i = 0; i < b.size; i += stride) if (a.find(b.part(i, 0) + dx, b.part(i, 1) + dy, 0, 0) >= 0) met++;
    return met;
  };
  const none = score(0, 0);
  // Not even all columns together would be half as many again: most passes are settled here, without a search.
  if (1.5 * none > Math.ceil(b.size / stride)) return [0, 0];
  const scores: { dx: number; dy: number; met: number }[] = [];
  for (let dx = -REACH; dx <= REACH; dx++) {
    for (let dy = -REACH; dy <= REACH; dy++) scores.push({ dx, dy, met: score(dx, dy) });
  }
  const best = Math.max(...scores.map((s) => s.met));
  if (best * stride < MIN_UPRIGHT || best < 1.5 * none) return [0, 0];
  const near = scores.filter((s) => s.met >= 0.97 * best).sort((p, q) => p.dx ** 2 + p.dy ** 2 - q.dx ** 2 - q.dy ** 2);
  const [found] = near;
  return Math.max(Math.abs(found.dx), Math.abs(found.dy)) >= 2 ? [found.dx, found.dy] : [0, 0];
}

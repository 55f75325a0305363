import { KeyTable } from './key-table.js';
import { BLOCK_SIDE, BLOCK_SLOTS, MOMENTS } from './moment-blocks.js';
import { type Area, isOwn } from './voxel-lattice.js';

/** Farthest plan shift looked for, in sub-voxels each way: 3 m with voxels of 0.5 m. */
const REACH = 12;
/** Upright columns needed before a plan shift is believed. */
const MIN_UPRIGHT = 50;
/** A column is upright where at least so many sub-voxels above one another hold points. */
const UPRIGHT_LEVELS = 4;
/** Columns sampled for the comparison: enough to be sure, few enough to be quick. */
const SAMPLE = 3000;

/** What the coarse comparison of passes keeps of one area. Plain data. */
export interface AreaOutlines {
  /** Ascending. */
  passes: number[];
  /** For each pass: x, y of the sub-voxels where it shows something upright, one after the other. */
  upright: Int32Array[];
  /** For every two passes that share plan columns: heights of b's lowest surface over a's, quanta, column by column. */
  shared: { a: number; b: number; above: Float32Array }[];
}

/** The outlines of the passes in an area, its rim left aside. */
export function outlineArea(area: Area, passes: readonly number[]): AreaOutlines {
  const outlines = passes.map((pass) => outlinePass(area, pass));
  const shared: AreaOutlines['shared'] = [];
  for (let i = 0; i < passes.length; i++) {
    for (let j = i + 1; j < passes.length; j++) {
      const above = heightsAbove(outlines[i], outlines[j]);
      if (above.length > 0) shared.push({ a: passes[i], b: passes[j], above });
    }
  }
  return { passes: [...passes], upright: outlines.map((outline) => outline.upright), shared };
}

interface PassOutline {
  /** Keys: column x, y of a whole voxel. */
  columns: KeyTable;
  /** Mean height of the lowest sub-voxel with points, in quanta, by column index. */
  lowest: number[];
  upright: Int32Array;
}

function outlinePass(area: Area, pass: number): PassOutline {
  const { keys, slots, moments } = area.blocks;
  const columns = new KeyTable();
  const lowest: number[] = [];
  const levels = new KeyTable();
  const levelCount: number[] = [];
  for (let b = 0; b < keys.size; b++) {
    if (keys.part(b, 0) !== pass || !isOwn(area, keys.part(b, 1), keys.part(b, 2))) continue;
    const start = b * BLOCK_SLOTS;
    for (let slot = 0; slot < BLOCK_SLOTS; slot++) {
      if (slots[start + slot] === 0) continue;
      const r = (slots[start + slot] - 1) * MOMENTS;
      const ix = keys.part(b, 1) * BLOCK_SIDE + (slot & 7);
      const iy = keys.part(b, 2) * BLOCK_SIDE + ((slot >> 3) & 7);
      const iz = keys.part(b, 3) * BLOCK_SIDE + (slot >> 6);
      const height = iz * area.side + moments[r + 3] / moments[r];
      const column = columns.add(ix >> 1, iy >> 1, 0, 0);
      if (column === lowest.length) lowest.push(height);
      else if (height < lowest[column]) lowest[column] = height;
      const level = levels.add(ix, iy, 0, 0);
      if (level === levelCount.length) levelCount.push(1);
      else levelCount[level]++;
    }
  }
  const upright: number[] = [];
  for (const at of levels.sorted()) {
    if (levelCount[at] >= UPRIGHT_LEVELS) upright.push(levels.part(at, 0), levels.part(at, 1));
  }
  return { columns, lowest, upright: Int32Array.from(upright) };
}

function heightsAbove(a: PassOutline, b: PassOutline): Float32Array {
  const above: number[] = [];
  for (const i of a.columns.sorted()) {
    const j = b.columns.find(a.columns.part(i, 0), a.columns.part(i, 1), 0, 0);
    if (j >= 0) above.push(b.lowest[j] - a.lowest[i]);
  }
  return Float32Array.from(above);
}

/** What two passes show of one another over all areas. */
export interface PairOutline {
  /** Plan columns that both have seen. */
  columns: number;
  above: Float32Array[];
  /** Keys: sub-voxel x, y where the pass shows something upright. */
  upright: readonly [KeyTable, KeyTable];
}

/** Upright sub-voxels of one pass over all areas. */
export function uprightOf(outlines: readonly AreaOutlines[], pass: number): KeyTable {
  const found = new KeyTable();
  for (const { passes, upright } of outlines) {
    const at = passes.indexOf(pass);
    if (at < 0) continue;
    for (let i = 0; i < upright[at].length; i += 2) found.add(upright[at][i], upright[at][i + 1], 0, 0);
  }
  return found;
}

/** Heights of pass b over pass a over all areas. */
export function heightsShared(outlines: readonly AreaOutlines[], a: number, b: number): Float32Array[] {
  return outlines.flatMap(({ shared }) => shared.filter((s) => s.a === a && s.b === b).map(({ above }) => above));
}

/**
 * Whole sub-voxels by which pass b must be moved before planes of the two passes meet in the same voxels; [0, 0, 0] when
 * they already do. Heights: median difference of the lowest surfaces. Plan: the move that brings most upright columns
 * (walls, poles) together, believed only if it brings half as many again as none, and the shortest such move where a
 * straight wall leaves the choice open.
 */
export function findGrossShift(
  { columns, above, upright }: PairOutline,
  side: number,
  minColumns: number,
): [number, number, number] {
  let up = 0;
  if (columns >= minColumns) {
    const all = new Float32Array(columns);
    let at = 0;
    for (const part of above) {
      all.set(part, at);
      at += part.length;
    }
    all.sort();
    const median = all[columns >> 1];
    if (Math.abs(median) > side / 2) up = -Math.round(median / side);
  }
  const [east, north] = findPlanShift(upright[0], upright[1]);
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

import { selectRank } from '../../geometry/ranking.js';
import type { BlockOutlines } from '../../kernel/voxel-block.js';
import { KeyTable } from '../cells/key-table.js';
import type { PlaneBlock } from './plane-block.js';

/** Largest horizontal shift that is searched, in sub-voxels each way: 3 m with voxels of 0.5 m. */
const MOST_SHIFT = 12;
/** Upright columns needed before a horizontal shift is accepted. */
const MIN_UPRIGHT = 50;
/** A column is upright where at least this many sub-voxels above one another hold points. */
const UPRIGHT_LEVELS = 4;
/** Columns that are compared at most, to limit the time of the search. */
const SAMPLE = 3000;

/** The outlines of the passes in a block, without its margin. Plain data. */
export function outlineOfBlock({ voxels }: PlaneBlock): BlockOutlines {
  return voxels.outline(UPRIGHT_LEVELS);
}

/** What two passes have in common over all blocks. */
export interface PairOutline {
  /** Columns in which both have points. */
  columns: number;
  above: Float32Array[];
  /** Keys: x, y of the sub-voxels in which the pass holds an upright object. */
  upright: readonly [KeyTable, KeyTable];
}

/** Upright columns of one pass over all blocks: a table with their column and row, in sub-voxels, as keys. */
export function uprightOf(outlines: readonly BlockOutlines[], pass: number): KeyTable {
  const most = outlines.reduce((sum, { passes, upright }) => sum + (upright[passes.indexOf(pass)]?.length ?? 0) / 2, 0);
  const found = new KeyTable(most);
  for (const { passes, upright } of outlines) {
    const at = passes.indexOf(pass);
    if (at < 0) continue;
    for (let i = 0; i < upright[at].length; i += 2) found.add(upright[at][i], upright[at][i + 1], 0, 0);
  }
  return found;
}

/**
 * Whole sub-voxels by which pass b must be moved before planes of the two passes meet in the same voxels; [0, 0, 0] when
 * they already do. Heights: median difference of the lowest surfaces. Horizontal: the move that brings most upright columns
 * (walls, poles) together. It is accepted only if it matches half as many again as no move does; the shortest such move where a
 * straight wall leaves the choice open.
 */
export function findGrossShift(
  { columns, above, upright }: PairOutline,
  side: number,
  minColumns: number,
): [number, number, number] {
  let up = 0;
  if (columns >= minColumns) {
    const all = new Float64Array(columns);
    let at = 0;
    for (const part of above) {
      all.set(part, at);
      at += part.length;
    }
    const median = selectRank(all, columns >> 1);
    if (Math.abs(median) > side / 2) up = -Math.round(median / side);
  }
  const [east, north] = findHorizontalShift(upright[0], upright[1]);
  return [east, north, up];
}

function findHorizontalShift(a: KeyTable, b: KeyTable): [number, number] {
  if (a.size < MIN_UPRIGHT || b.size < MIN_UPRIGHT) return [0, 0];
  const stride = Math.max(1, Math.ceil(b.size / SAMPLE));
  const score = (dx: number, dy: number) => {
    let met = 0;
    for (let i = 0; i < b.size; i += stride) if (a.find(b.part(i, 0) + dx, b.part(i, 1) + dy, 0, 0) >= 0) met++;
    return met;
  };
  const none = score(0, 0);
  // Not even all columns together would be half as many again: for most passes the search is saved here.
  if (1.5 * none > Math.ceil(b.size / stride)) return [0, 0];
  const scores: { dx: number; dy: number; met: number }[] = [];
  for (let dx = -MOST_SHIFT; dx <= MOST_SHIFT; dx++) {
    for (let dy = -MOST_SHIFT; dy <= MOST_SHIFT; dy++) scores.push({ dx, dy, met: score(dx, dy) });
  }
  const best = Math.max(...scores.map((s) => s.met));
  if (best * stride < MIN_UPRIGHT || best < 1.5 * none) return [0, 0];
  const near = scores.filter((s) => s.met >= 0.97 * best).sort((p, q) => p.dx ** 2 + p.dy ** 2 - q.dx ** 2 - q.dy ** 2);
  const [found] = near;
  return Math.max(Math.abs(found.dx), Math.abs(found.dy)) >= 2 ? [found.dx, found.dy] : [0, 0];
}

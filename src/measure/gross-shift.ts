import { selectRank } from '../geometry/ranking.js';
import { RECORD } from '../kernel/voxel-area.js';
import { KeyTable } from './key-table.js';
import type { PlaneArea } from './plane-area.js';

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
export function outlineArea({ voxels }: PlaneArea): AreaOutlines {
  const upright = new Map<number, number[]>();
  const shared = new SharedColumns();
  voxels.outline(UPRIGHT_LEVELS, ({ words, doubles }, count) => {
    for (let i = 0; i < count; i++) {
      const w = i * RECORD.words;
      const [kind, pass, column, row] = [words[w], words[w + 1], words[w + 2], words[w + 3]];
      let list = upright.get(pass);
      if (!list) {
        list = [];
        upright.set(pass, list);
      }
      if (kind === 1) list.push(column, row);
      else shared.see(pass, column, row, doubles[i * RECORD.doubles + 2]);
    }
  });
  const passes = [...upright.keys()].sort((a, b) => a - b);
  return {
    passes,
    upright: passes.map((pass) => Int32Array.from(upright.get(pass)!)),
    shared: shared.pairs(),
  };
}

/** Every two passes that meet in a column of the plan. Passes of one column come one after the other, ascending. */
class SharedColumns {
  readonly #pairs: { a: number; b: number; above: number[] }[] = [];
  readonly #places = new KeyTable();
  #column = 0;
  #row = 0;
  /** Passes seen in the column so far, and their heights. */
  readonly #passes: number[] = [];
  readonly #heights: number[] = [];

  see(pass: number, column: number, row: number, height: number): void {
    if (column !== this.#column || row !== this.#row) {
      this.#passes.length = 0;
      this.#heights.length = 0;
      this.#column = column;
      this.#row = row;
    }
    this.#passes.forEach((other, i) => {
      this.#aboveOf(other, pass).push(height - this.#heights[i]);
    });
    this.#passes.push(pass);
    this.#heights.push(height);
  }

  #aboveOf(a: number, b: number): number[] {
    const at = this.#places.add(a, b, 0, 0);
    if (at === this.#pairs.length) this.#pairs.push({ a, b, above: [] });
    return this.#pairs[at].above;
  }

  pairs(): AreaOutlines['shared'] {
    return this.#pairs
      .sort((p, q) => p.a - q.a || p.b - q.b)
      .map(({ a, b, above }) => ({ a, b, above: Float32Array.from(above) }));
  }
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
    const all = new Float64Array(columns);
    let at = 0;
    for (const part of above) {
      all.set(part, at);
      at += part.length;
    }
    const median = selectRank(all, columns >> 1);
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

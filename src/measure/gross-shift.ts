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
export function outlineArea(area: Area): AreaOutlines {
  const columns = new PlanColumns(area);
  const upright = columns.upright();
  const passes = [...upright.keys()].sort((a, b) => a - b);
  return {
    passes,
    upright: passes.map((pass) => Int32Array.from(upright.get(pass)!)),
    shared: columns.shared(),
  };
}

/** Plan columns of an area, each with what every pass shows in it. */
class PlanColumns {
  /** Keys: column x, y of a whole voxel, pass, 0. */
  readonly #columns = new KeyTable();
  /** Mean height of the lowest sub-voxel with points, in quanta, by column and pass. */
  readonly #lowest: number[] = [];
  /** Keys: sub-voxel x, y, pass, 0. */
  readonly #levels = new KeyTable();
  readonly #levelCount: number[] = [];

  constructor(area: Area) {
    const { keys, slots, moments } = area.blocks;
    for (let b = 0; b < keys.size; b++) {
      if (!isOwn(area, keys.part(b, 1), keys.part(b, 2))) continue;
      const start = b * BLOCK_SLOTS;
      for (let slot = 0; slot < BLOCK_SLOTS; slot++) {
        if (slots[start + slot] === 0) continue;
        const r = (slots[start + slot] - 1) * MOMENTS;
        const ix = keys.part(b, 1) * BLOCK_SIDE + (slot & 7);
        const iy = keys.part(b, 2) * BLOCK_SIDE + ((slot >> 3) & 7);
        const iz = keys.part(b, 3) * BLOCK_SIDE + (slot >> 6);
        this.#see(keys.part(b, 0), ix, iy, iz * area.side + moments[r + 3] / moments[r]);
      }
    }
  }

  #see(pass: number, ix: number, iy: number, height: number): void {
    const column = this.#columns.add(ix >> 1, iy >> 1, pass, 0);
    if (column === this.#lowest.length) this.#lowest.push(height);
    else if (height < this.#lowest[column]) this.#lowest[column] = height;
    const level = this.#levels.add(ix, iy, pass, 0);
    if (level === this.#levelCount.length) this.#levelCount.push(1);
    else this.#levelCount[level]++;
  }

  /** By pass: x, y of the sub-voxels where it shows something upright. */
  upright(): Map<number, number[]> {
    const found = new Map<number, number[]>();
    for (const at of this.#levels.sorted()) {
      const pass = this.#levels.part(at, 2);
      let list = found.get(pass);
      if (!list) {
        list = [];
        found.set(pass, list);
      }
      if (this.#levelCount[at] >= UPRIGHT_LEVELS) list.push(this.#levels.part(at, 0), this.#levels.part(at, 1));
    }
    return found;
  }

  /** Every two passes that meet in a column. Sorted, the passes of one column stand together, ascending. */
  shared(): AreaOutlines['shared'] {
    const order = this.#columns.sorted();
    const pairs = new Map<string, { a: number; b: number; above: number[] }>();
    for (let i = 0; i < order.length; i++) {
      for (let j = i + 1; j < order.length && this.#sameColumn(order[i], order[j]); j++) {
        const [a, b] = [this.#columns.part(order[i], 2), this.#columns.part(order[j], 2)];
        const key = `${a} ${b}`;
        let pair = pairs.get(key);
        if (!pair) {
          pair = { a, b, above: [] };
          pairs.set(key, pair);
        }
        pair.above.push(this.#lowest[order[j]] - this.#lowest[order[i]]);
      }
    }
    return [...pairs.values()].map(({ a, b, above }) => ({ a, b, above: Float32Array.from(above) }));
  }

  #sameColumn(i: number, j: number): boolean {
    return (
      this.#columns.part(i, 0) === this.#columns.part(j, 0) && this.#columns.part(i, 1) === this.#columns.part(j, 1)
    );
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

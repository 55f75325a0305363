import type { DeliveredFile, DeliveryFacts } from '../../delivery/delivery.js';
import type { DensityGrid } from '../../measure/density-grid.js';
import type { JudgeContext } from '../contract/check.js';
import { type JudgedCells, joinCells, judgedCells } from './judged-cells.js';

/** A mean density that was worked out from a sample. */
export interface ScaledDensity {
  /** Points per square metre. */
  mean: number;
  /** Cells whose mean it is, and their edge, metres. */
  cells: number;
  cell: number;
  /** Share of the points of these cells that was read, 0 to 1. */
  share: number;
  /** Standard deviation of the mean, as a share of it, from the number of pieces read; null where all pieces are octree nodes. */
  spread: number | null;
}

/** Empty cells among the cells of the data: with more, a sample does not show where the data end. */
const MOST_EMPTY = 0.02;
/** How often cells are joined to larger ones. */
const MOST_JOINS = 8;
const FEWEST_CELLS = 4;
/** Points of a sample that a mean density is taken from, at least, and the largest standard deviation of it, as a share. */
const FEWEST_POINTS = 400;
const MOST_SPREAD = 0.2;
/** Files over one another may differ so much in the share that was read. */
const MOST_SHARE_RATIO = 1.2;
const TOO_LITTLE = 'too little was read there for a mean density';

/**
 * The mean density of the cells of a zone, or of the data, worked out from a sample. Points of LAS and LAZ are divided by the
 * share that was read of the files at the place. In COPC the points of the nodes that were not read are known from the octree;
 * they are added where the nodes are. Without a zone cells are joined until hardly any is empty, since where the data end is
 * known only from the points that were read.
 * @returns the density, or why it cannot be worked out
 */
export function scaledDensity(
  grid: DensityGrid,
  zone: string | undefined,
  context: JudgeContext,
): ScaledDensity | string {
  let at = grid;
  let cells = judgedCells(at, zone, context);
  if (zone === undefined) {
    for (let joins = 0; joins < MOST_JOINS && shareEmpty(cells) > MOST_EMPTY; joins++) {
      at = joinCells(at);
      cells = judgedCells(at, zone, context);
    }
    if (cells.points.length < FEWEST_CELLS || shareEmpty(cells) > MOST_EMPTY)
      return 'where the data end cannot be seen from the points that were read; name a zone, or read a larger share';
  }
  return meanOf(at, cells, context.delivery);
}

function shareEmpty({ points }: JudgedCells): number {
  let empty = 0;
  for (const n of points) if (n === 0) empty++;
  return points.length === 0 ? 1 : empty / points.length;
}

function meanOf(grid: DensityGrid, cells: JudgedCells, { files }: DeliveryFacts): ScaledDensity | string {
  const sampled = files.filter((file) => file.sampled !== undefined && file.header !== null);
  const nodes = nodePoints(grid, sampled);
  const filesOfRow = rowFiles(sampled, grid.cell);
  const sum = { points: 0, read: 0, pieces: 0, ofPieces: 0, cells: 0 };
  let unclear = 0;
  for (let i = 0; i < cells.points.length; i++) {
    const here = filesOfRow(cells.row[i]).filter((file) => spans(file, 0, cells.column[i], grid.cell));
    const found = here.length === 0 ? null : placeOf(here);
    if (here.length > 0 && found === null) {
      unclear++;
      continue;
    }
    sum.cells++;
    sum.read += cells.points[i];
    if (found === null) continue;
    sum.points += cells.points[i] / found.share + nodes(cells.column[i], cells.row[i]);
    if (found.pieces === 0) continue;
    sum.pieces += cells.points[i] * found.pieces;
    sum.ofPieces += cells.points[i];
  }
  if (unclear > sum.cells) return 'files of which different shares were read lie over one another';
  const share = sum.read / sum.points;
  // Pieces are taken or left whole: their number varies by its square root, and not at all where all are taken.
  const spread = sum.ofPieces === 0 ? null : Math.sqrt(Math.max(0, 1 - share) / sum.pieces);
  if (sum.read < FEWEST_POINTS || (spread ?? 0) > MOST_SPREAD) return TOO_LITTLE;
  return {
    mean: sum.points / (sum.cells * grid.cell ** 2),
    cells: sum.cells,
    cell: grid.cell,
    share,
    spread,
  };
}

/** The share read of the files at a place, and pieces a point; null where it is not one share. */
function placeOf(files: readonly DeliveredFile[]): { share: number; pieces: number } | null {
  const octrees = files.filter(({ sampled }) => sampled!.unread !== null).length;
  // What was not read of an octree is added by node.
  if (octrees > 0) return octrees === files.length ? { share: 1, pieces: 0 } : null;
  const shares = files.map(({ sampled, header }) => sampled!.points / header!.pointCount);
  const least = shares.reduce((a, b) => Math.min(a, b), Number.POSITIVE_INFINITY);
  const most = shares.reduce((a, b) => Math.max(a, b), Number.NEGATIVE_INFINITY);
  if (most > least * MOST_SHARE_RATIO) return null;
  const read = files.reduce((sum, { sampled }) => sum + sampled!.points, 0);
  const all = files.reduce((sum, { header }) => sum + header!.pointCount, 0);
  const pieces = files.reduce((sum, { sampled }) => sum + sampled!.pieces, 0);
  return { share: read / all, pieces: pieces / read };
}

/** Whether the extent of a file, as its header states it, reaches into a column (axis 0) or a row (axis 1) of cells. */
function spans({ header, horizontalUnit }: DeliveredFile, axis: 0 | 1, index: number, cell: number): boolean {
  const [low, high] = [header!.min[axis] * horizontalUnit, header!.max[axis] * horizontalUnit];
  return high >= index * cell && low <= (index + 1) * cell;
}

/** The files that reach into a row of cells; rows are asked for in order, so the last answer is kept. */
function rowFiles(files: readonly DeliveredFile[], cell: number): (row: number) => DeliveredFile[] {
  let known = Number.NaN;
  let answer: DeliveredFile[] = [];
  return (row) => {
    if (row !== known) {
      known = row;
      answer = files.filter((file) => file.sampled!.points > 0 && spans(file, 1, row, cell));
    }
    return answer;
  };
}

/**
 * By cell: points of the octree nodes that were not read, spread over the points that were read within the square of the
 * node, of which the share that the check counts is taken.
 */
function nodePoints(grid: DensityGrid, files: readonly DeliveredFile[]): (column: number, row: number) => number {
  const index = new CellIndex(grid);
  const added = new Float64Array(grid.points.length);
  const read = files.reduce((sum, { sampled }) => sum + sampled!.points, 0);
  const counted = grid.points.reduce((sum, n) => sum + n, 0) / read;
  for (const { sampled } of files) {
    const nodes = sampled?.unread ?? [];
    for (let k = 0; k < nodes.length; k += 4) {
      const places = index.around(nodes[k] + nodes[k + 2] / 2, nodes[k + 1] + nodes[k + 2] / 2, nodes[k + 2] / 2);
      const sum = places.reduce((total, i) => total + grid.points[i], 0);
      for (const i of places) added[i] += (nodes[k + 3] * counted * grid.points[i]) / sum;
    }
  }
  return (column, row) => added[index.find(column, row)] ?? 0;
}

/** Occupied cells, sorted by row, then column, found by place. */
class CellIndex {
  readonly #grid: DensityGrid;
  /** First cell of each occupied row, and one past the last. */
  readonly #rows = new Map<number, [first: number, end: number]>();

  constructor(grid: DensityGrid) {
    this.#grid = grid;
    for (let i = 0; i < grid.row.length; i++) {
      const known = this.#rows.get(grid.row[i]);
      if (known) known[1] = i + 1;
      else this.#rows.set(grid.row[i], [i, i + 1]);
    }
  }

  /** Place of a cell among the occupied ones; -1 for an empty one. */
  find(column: number, row: number): number {
    const at = this.#firstFrom(column, row);
    return at >= 0 && this.#grid.row[at] === row && this.#grid.column[at] === column ? at : -1;
  }

  /** Occupied cells whose middle lies in a square, at least the one in its middle; of the next larger square that has any. */
  around(x: number, y: number, half: number): number[] {
    if (this.#rows.size === 0) return [];
    for (let reach = half; ; reach *= 2) {
      const found = this.#within(x, y, reach);
      if (found.length > 0) return found;
      if (reach > 1e9) return [];
    }
  }

  #within(x: number, y: number, half: number): number[] {
    const { cell, column } = this.#grid;
    const low = (v: number) => Math.min(Math.ceil((v - half) / cell - 0.5), Math.floor(v / cell));
    const high = (v: number) => Math.max(Math.floor((v + half) / cell - 0.5), Math.floor(v / cell));
    const found: number[] = [];
    const last = high(x);
    const collect = (r: number) => {
      const end = this.#rows.get(r)?.[1] ?? 0;
      for (let i = this.#firstFrom(low(x), r); i >= 0 && i < end && column[i] <= last; i++) found.push(i);
    };
    const [bottom, top] = [low(y), high(y)];
    if (top - bottom < this.#rows.size) for (let r = bottom; r <= top; r++) collect(r);
    else for (const r of this.#rows.keys()) if (r >= bottom && r <= top) collect(r);
    return found;
  }

  /** The first occupied cell of a row from a column on; -1 where the row has none. */
  #firstFrom(column: number, row: number): number {
    const [first, end] = this.#rows.get(row) ?? [-1, -1];
    let [low, high] = [first, end];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.#grid.column[middle] < column) low = middle + 1;
      else high = middle;
    }
    return low < end ? low : -1;
  }
}

import { connectedComponents } from './components.js';

/** Square cells with their number of points, sorted by row, then column, each cell once. Empty cells are listed with 0 points. */
export interface CountedCells {
  column: Int32Array;
  row: Int32Array;
  points: Float64Array;
}

/** A connected area without points. Lengths and areas in cells and square cells. */
export interface VoidArea {
  /** Estimated area, and its standard deviation. */
  area: number;
  areaStd: number;
  /** Number of wholly empty cells. */
  cells: number;
  /** Centre of the empty cells, in cells: 0.5 is the middle of cell 0. */
  x: number;
  y: number;
  /** Columns and rows of the empty cells: first, and one past the last. */
  minColumn: number;
  minRow: number;
  endColumn: number;
  endRow: number;
  /** Width and height of the void, estimated from its area and the extent of its empty cells. */
  width: number;
  height: number;
}

export interface VoidAreas {
  /** The largest first; equal ones from the south, then from the west. */
  voids: VoidArea[];
  /** The empty cells: column, row, and the place of their void in `voids`. */
  column: Int32Array;
  row: Int32Array;
  void: Int32Array;
}

/**
 * Finds connected groups of empty cells (sides or corners touch) and estimates the area of each. A void ends inside cells
 * that still hold points, so the whole empty cells alone state too small an area, by an amount that depends on where the
 * cell borders happen to be. A cell beside a void with n points, where n0 are expected from the cells behind it, is counted
 * as void by the share 1 - n / n0. This share is right on average for any position and direction of the outline, so the
 * area does not depend on the position of the grid. The standard deviation follows from counts that vary by their square
 * root (Poisson); counts of a regular scan pattern vary less.
 * Ideas behind it: common practice of area estimation from partly covered cells; no published rule.
 */
export function findVoidAreas(cells: CountedCells): VoidAreas {
  const { column, row, points } = cells;
  const empty: number[] = [];
  for (let i = 0; i < points.length; i++) if (points[i] === 0) empty.push(i);
  const emptyColumn = Int32Array.from(empty, (i) => column[i]);
  const emptyRow = Int32Array.from(empty, (i) => row[i]);
  const { labels, count } = connectedComponents(emptyColumn, emptyRow, 8);
  const found = Array.from({ length: count }, emptyVoid);
  for (let k = 0; k < empty.length; k++) {
    const v = found[labels[k]];
    const [x, y] = [emptyColumn[k], emptyRow[k]];
    v.cells++;
    v.x += x + 0.5;
    v.y += y + 0.5;
    v.minColumn = Math.min(v.minColumn, x);
    v.endColumn = Math.max(v.endColumn, x + 1);
    v.minRow = Math.min(v.minRow, y);
    v.endRow = Math.max(v.endRow, y + 1);
  }
  const label = new Int32Array(points.length).fill(-1);
  empty.forEach((i, k) => {
    label[i] = labels[k];
  });
  addOutlines(cells, label, found);
  for (const v of found) {
    v.x /= v.cells;
    v.y /= v.cells;
    finishExtent(v);
  }
  const order = [...found.keys()].sort(
    (a, b) =>
      found[b].area - found[a].area || found[a].minRow - found[b].minRow || found[a].minColumn - found[b].minColumn,
  );
  const place = new Int32Array(count);
  order.forEach((label, at) => {
    place[label] = at;
  });
  return {
    voids: order.map((label) => found[label]),
    column: emptyColumn,
    row: emptyRow,
    void: Int32Array.from(labels, (label) => place[label]),
  };
}

function emptyVoid(): VoidArea {
  return {
    area: 0,
    areaStd: 0,
    cells: 0,
    x: 0,
    y: 0,
    minColumn: 2 ** 31,
    minRow: 2 ** 31,
    endColumn: -(2 ** 31),
    endRow: -(2 ** 31),
    width: 0,
    height: 0,
  };
}

/** Adds to every void the shares of the cells around it. `label`: void of every cell, -1 for a cell with points. */
function addOutlines(cells: CountedCells, label: Int32Array, found: VoidArea[]): void {
  const { column, row, points } = cells;
  const at = cellFinder(cells);
  const variance = new Float64Array(found.length);
  for (const v of found) v.area = v.cells;
  const rim = new Set<number>();
  for (let i = 0; i < points.length; i++) {
    if (label[i] < 0) continue;
    eachNeighbour(at, column[i], row[i], (k) => {
      if (label[k] < 0) rim.add(k);
    });
  }
  for (const i of Uint32Array.from(rim).sort()) {
    let sum = 0;
    let behind = 0;
    const voids = new Set<number>();
    eachNeighbour(at, column[i], row[i], (k) => {
      if (label[k] >= 0) voids.add(label[k]);
      else if (!rim.has(k)) {
        sum += points[k];
        behind++;
      }
    });
    if (behind === 0) continue;
    const expected = sum / behind;
    const n = points[i];
    // A cell beside two voids belongs to each by half.
    for (const v of voids) {
      found[v].area += Math.max(-1, 1 - n / expected) / voids.size;
      // Neighbours share the cells behind them, so the error of `expected` counts as often as it is used.
      variance[v] += (n / expected ** 2 + (n * n) / expected ** 3) / voids.size ** 2;
    }
  }
  found.forEach((v, i) => {
    v.areaStd = Math.sqrt(variance[i]);
  });
}

/** Finds cells by column and row; -1 where there is none. The cells are sorted by row, then column. */
function cellFinder({ column, row }: CountedCells): (x: number, y: number) => number {
  const starts = new Map<number, number>();
  for (let i = 0; i < row.length; i++) if (i === 0 || row[i] !== row[i - 1]) starts.set(row[i], i);
  return (x, y) => {
    const start = starts.get(y);
    if (start === undefined) return -1;
    let low: number = start;
    let high = Math.min(row.length, low + (x - column[low]) + 1);
    if (high <= low) return -1;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (row[middle] > y || column[middle] > x) high = middle;
      else if (column[middle] < x) low = middle + 1;
      else return middle;
    }
    return -1;
  };
}

function eachNeighbour(
  at: (x: number, y: number) => number,
  x: number,
  y: number,
  visit: (cell: number) => void,
): void {
  for (let dy = -1; dy <= 1; dy++) {
    for (let dx = -1; dx <= 1; dx++) {
      const cell = dx === 0 && dy === 0 ? -1 : at(x + dx, y + dy);
      if (cell >= 0) visit(cell);
    }
  }
}

/** The extent of the empty cells, widened on all sides by the same width so that it grows as the area does. */
function finishExtent(v: VoidArea): void {
  const width = v.endColumn - v.minColumn;
  const height = v.endRow - v.minRow;
  const filled = v.cells / (width * height);
  const target = v.area / filled;
  // (width + 2 w)(height + 2 w) = target
  const w = (Math.sqrt((width - height) ** 2 + 4 * Math.max(target, 0)) - (width + height)) / 4;
  v.width = Math.max(0, width + 2 * w);
  v.height = Math.max(0, height + 2 * w);
}

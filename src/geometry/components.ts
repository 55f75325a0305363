/** Connected components of cells. */
export interface Components {
  /** Group of every cell, in the order the cells were given; 0 to count - 1. */
  labels: Int32Array;
  /** Number of different cells in every group. */
  sizes: Int32Array;
  count: number;
}

/**
 * Groups cells that touch: by their sides (4 neighbours), or also by their corners (8). Groups are numbered by their first
 * cell in reading order, row by row upwards, so that the numbers do not depend on the order of the cells. A cell given
 * twice counts once. Memory and time grow with the number of cells, not with the area they span.
 */
export function connectedComponents(columns: Int32Array, rows: Int32Array, neighbours: 4 | 8 = 8): Components {
  const n = columns.length;
  if (rows.length !== n) throw new RangeError(`${n} columns but ${rows.length} rows`);
  const order = readingOrder(columns, rows);
  const parent = new Int32Array(n);
  for (let i = 0; i < n; i++) parent[i] = i;

  const diagonal = neighbours === 8 ? 1 : 0;
  let below = 0;
  for (let at = 0; at < n; at++) {
    const column = columns[order[at]];
    const row = rows[order[at]];
    if (at > 0) {
      const left = order[at - 1];
      // Equal column: the same cell again.
      if (rows[left] === row && columns[left] >= column - 1) unite(parent, at - 1, at);
    }
    // `below` only moves forward along the row below, because both rows are sorted.
    while (below < at && isBefore(columns, rows, order[below], column - diagonal, row - 1)) below++;
    for (let k = below; k < at; k++) {
      const cell = order[k];
      if (rows[cell] !== row - 1 || columns[cell] > column + diagonal) break;
      unite(parent, k, at);
    }
  }
  return number(columns, rows, order, parent);
}

/** Groups the cells of a bitmap (row by row, non-zero = cell) `width` columns wide; 0 in `labels` means no cell, else group + 1. */
export function connectedComponentsOfBitmap(bitmap: Uint8Array, width: number, neighbours: 4 | 8 = 8): Components {
  if (!(Number.isInteger(width) && width > 0) || bitmap.length % width !== 0) {
    throw new RangeError(`a bitmap of ${bitmap.length} cells is not ${width} wide`);
  }
  let n = 0;
  for (let i = 0; i < bitmap.length; i++) if (bitmap[i]) n++;
  const columns = new Int32Array(n);
  const rows = new Int32Array(n);
  let at = 0;
  for (let i = 0; i < bitmap.length; i++) {
    if (!bitmap[i]) continue;
    columns[at] = i % width;
    rows[at++] = Math.floor(i / width);
  }
  const { labels, sizes, count } = connectedComponents(columns, rows, neighbours);
  const map = new Int32Array(bitmap.length);
  for (let i = 0; i < n; i++) map[rows[i] * width + columns[i]] = labels[i] + 1;
  return { labels: map, sizes, count };
}

function readingOrder(columns: Int32Array, rows: Int32Array): Uint32Array {
  const order = new Uint32Array(columns.length);
  let sorted = true;
  for (let i = 0; i < order.length; i++) {
    order[i] = i;
    if (i > 0 && !(rows[i - 1] < rows[i] || (rows[i - 1] === rows[i] && columns[i - 1] <= columns[i]))) sorted = false;
  }
  return sorted ? order : order.sort((a, b) => rows[a] - rows[b] || columns[a] - columns[b]);
}

function isBefore(columns: Int32Array, rows: Int32Array, cell: number, column: number, row: number): boolean {
  return rows[cell] < row || (rows[cell] === row && columns[cell] < column);
}

function root(parent: Int32Array, start: number): number {
  let at = start;
  while (parent[at] !== at) {
    parent[at] = parent[parent[at]];
    at = parent[at];
  }
  return at;
}

/** The earlier cell becomes the root, so that a group is known by its first cell. */
function unite(parent: Int32Array, a: number, b: number): void {
  const first = root(parent, a);
  const second = root(parent, b);
  if (first < second) parent[second] = first;
  else parent[first] = second;
}

function number(columns: Int32Array, rows: Int32Array, order: Uint32Array, parent: Int32Array): Components {
  const n = order.length;
  const labels = new Int32Array(n);
  const labelOfRoot = new Int32Array(n);
  const sizes = new Int32Array(n);
  let count = 0;
  for (let at = 0; at < n; at++) {
    const top = root(parent, at);
    if (top === at) labelOfRoot[at] = count++;
    const label = labelOfRoot[top];
    labels[order[at]] = label;
    const again = at > 0 && columns[order[at]] === columns[order[at - 1]] && rows[order[at]] === rows[order[at - 1]];
    if (!again) sizes[label]++;
  }
  return { labels, sizes: sizes.slice(0, count), count };
}

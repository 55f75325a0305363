/** Column and row of a square. */
type Square = readonly [column: number, row: number];

/** Squares a cluster may span before what it encloses is no longer looked for (8000 x 8000). */
const MOST_SQUARES = 64_000_000;

/**
 * The empty squares that occupied ones enclose: from which no path along rows and columns leads outside. Squares that touch,
 * corners included, are one cluster. Time grows with the number of squares given and found, not with the extent.
 * @param squares each once, in any order
 */
export function enclosedSquares(squares: readonly Square[]): Square[] {
  const found: Square[] = [];
  const known = byRow(squares);
  for (const cluster of clustersOf(squares)) {
    for (const square of enclosedBy(cluster)) {
      // One cluster may lie within another: its squares are not empty, and what it encloses is enclosed by both.
      const [x, y] = square;
      const row = known.get(y)!;
      if (row.has(x)) continue;
      row.add(x);
      found.push(square);
    }
  }
  return found;
}

function byRow(squares: readonly Square[]): Map<number, Set<number>> {
  const rows = new Map<number, Set<number>>();
  for (const [x, y] of squares) {
    const row = rows.get(y);
    if (row) row.add(x);
    else rows.set(y, new Set([x]));
  }
  return rows;
}

/** By row: columns of the squares of a cluster. */
type Cluster = Map<number, number[]>;

function clustersOf(squares: readonly Square[]): Cluster[] {
  const rows = byRow(squares);
  const clusters: Cluster[] = [];
  // What is taken into a cluster is removed, so that each square is visited once.
  for (const first of squares) {
    if (!rows.get(first[1])!.delete(first[0])) continue;
    const cluster: Cluster = new Map();
    const waiting: Square[] = [first];
    for (let square = waiting.pop(); square !== undefined; square = waiting.pop()) {
      const [x, y] = square;
      const known = cluster.get(y);
      if (known) known.push(x);
      else cluster.set(y, [x]);
      for (let dy = -1; dy <= 1; dy++) {
        const row = rows.get(y + dy);
        for (let dx = -1; dx <= 1; dx++) if (row?.delete(x + dx)) waiting.push([x + dx, y + dy]);
      }
    }
    clusters.push(cluster);
  }
  return clusters;
}

/** Empty squares between two of the cluster in one row: `from` to before `end`. */
interface Gap {
  row: number;
  from: number;
  end: number;
  /** A gap of the same area that was found before, or itself. */
  parent: Gap;
  /** The area reaches the outside; kept at the gap that is its own parent. */
  open: boolean;
}

/** Gaps that touch are one area. An area is open where one of its gaps lies beside what is beyond the squares of the next row. */
function* enclosedBy(cluster: Cluster): Generator<Square> {
  const rows = [...cluster].sort(([a], [b]) => a - b);
  const gaps: Gap[] = [];
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  let before: Gap[] = [];
  let reach = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const [row, columns] of rows) {
    columns.sort((a, b) => a - b);
    const [first, last] = [columns[0], columns[columns.length - 1]];
    least = Math.min(least, first);
    most = Math.max(most, last);
    const here: Gap[] = [];
    for (let i = 1; i < columns.length; i++) {
      if (columns[i] === columns[i - 1] + 1) continue;
      const gap = { row, from: columns[i - 1] + 1, end: columns[i], open: false } as Gap;
      gap.parent = gap;
      here.push(gap);
    }
    for (const gap of here) if (gap.from < reach[0] || gap.end - 1 > reach[1]) gap.open = true;
    for (const gap of before) if (gap.from < first || gap.end - 1 > last) areaOf(gap).open = true;
    for (let i = 0, k = 0; i < before.length && k < here.length; ) {
      if (before[i].from < here[k].end && here[k].from < before[i].end) join(before[i], here[k]);
      if (before[i].end < here[k].end) i++;
      else k++;
    }
    for (const gap of here) gaps.push(gap);
    before = here;
    reach = [first, last];
  }
  for (const gap of before) areaOf(gap).open = true;
  if ((most - least + 3) * (rows.length + 2) > MOST_SQUARES) return;
  for (const gap of gaps) {
    if (areaOf(gap).open) continue;
    for (let x = gap.from; x < gap.end; x++) yield [x, gap.row];
  }
}

function areaOf(gap: Gap): Gap {
  let area = gap;
  while (area.parent !== area) {
    area.parent = area.parent.parent;
    area = area.parent;
  }
  return area;
}

function join(a: Gap, b: Gap): void {
  const [one, other] = [areaOf(a), areaOf(b)];
  if (one === other) return;
  other.parent = one;
  if (other.open) one.open = true;
}

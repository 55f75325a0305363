/** Vertices of a line, metres, and the distance of each from the begin, ascending. */
export interface MeasuredLine {
  x: Float64Array;
  y: Float64Array;
  distance: Float64Array;
}

/** The point of a line that is nearest to a place. */
export interface NearestOnLine {
  /** Distance of that point from the begin of the line, metres. */
  distance: number;
  /** Metres across the line, right of it positive, left of it negative. */
  offset: number;
  /** Metres by which the place is before the begin or after the end, in the direction of the line there; 0 between them. */
  beyond: number;
  /** Straight distance between the place and that point, metres. */
  gap: number;
}

/** Segments that are looked at one by one. */
const LEAF = 8;

/**
 * Finds the nearest point of a line. Consecutive segments are grouped in boxes and these in larger boxes, so that a search looks at
 * few of them: the number of segments costs a logarithm.
 */
export class LineIndex {
  readonly line: MeasuredLine;
  /** Boxes of each level, from groups of LEAF segments up to one box of all: minX, minY, maxX, maxY of each. */
  private readonly levels: Float64Array[] = [];

  /** @throws RangeError for a line of fewer than two vertices */
  constructor(line: MeasuredLine) {
    this.line = line;
    const segments = line.x.length - 1;
    if (segments < 1) throw new RangeError('a line needs two vertices');
    let below = new Float64Array(4 * Math.ceil(segments / LEAF));
    for (let leaf = 0; 4 * leaf < below.length; leaf++) {
      const box = [Infinity, Infinity, -Infinity, -Infinity];
      for (let i = leaf * LEAF; i <= Math.min(segments, (leaf + 1) * LEAF); i++) {
        box[0] = Math.min(box[0], line.x[i]);
        box[1] = Math.min(box[1], line.y[i]);
        box[2] = Math.max(box[2], line.x[i]);
        box[3] = Math.max(box[3], line.y[i]);
      }
      below.set(box, 4 * leaf);
    }
    this.levels.push(below);
    while (below.length > 4) {
      const above = new Float64Array(4 * Math.ceil(below.length / 8));
      for (let node = 0; 4 * node < above.length; node++) {
        const a = 8 * node;
        const b = a + 4 < below.length ? a + 4 : a;
        above[4 * node] = Math.min(below[a], below[b]);
        above[4 * node + 1] = Math.min(below[a + 1], below[b + 1]);
        above[4 * node + 2] = Math.max(below[a + 2], below[b + 2]);
        above[4 * node + 3] = Math.max(below[a + 3], below[b + 3]);
      }
      this.levels.push(above);
      below = above;
    }
  }

  /** The nearest point of the line within a straight distance (metres) of a place; null where there is none. */
  nearest(x: number, y: number, within = Infinity): NearestOnLine | null {
    const best = { square: within * within, segment: -1, share: 0 };
    this.search(this.levels.length - 1, 0, x, y, best);
    return best.segment < 0 ? null : this.describe(x, y, best);
  }

  private search(level: number, node: number, x: number, y: number, best: Found): void {
    if (this.boxSquare(level, node, x, y) > best.square) return;
    if (level === 0) {
      this.searchLeaf(node, x, y, best);
      return;
    }
    const [a, b] = [2 * node, 2 * node + 1];
    if (4 * b >= this.levels[level - 1].length) {
      this.search(level - 1, a, x, y, best);
      return;
    }
    const first = this.boxSquare(level - 1, b, x, y) < this.boxSquare(level - 1, a, x, y) ? b : a;
    this.search(level - 1, first, x, y, best);
    this.search(level - 1, a + b - first, x, y, best);
  }

  private searchLeaf(leaf: number, x: number, y: number, best: Found): void {
    const { x: xs, y: ys } = this.line;
    const end = Math.min(xs.length - 1, (leaf + 1) * LEAF);
    for (let i = leaf * LEAF; i < end; i++) {
      const [dx, dy] = [xs[i + 1] - xs[i], ys[i + 1] - ys[i]];
      const square = dx * dx + dy * dy;
      const t = square === 0 ? 0 : ((x - xs[i]) * dx + (y - ys[i]) * dy) / square;
      const share = Math.min(1, Math.max(0, t));
      const away = (x - xs[i] - share * dx) ** 2 + (y - ys[i] - share * dy) ** 2;
      // Of two equal distances that of the earlier segment is taken, in whatever order the boxes are searched.
      if (away < best.square || (away === best.square && (best.segment < 0 || i < best.segment))) {
        best.square = away;
        best.segment = i;
        best.share = share;
      }
    }
  }

  private boxSquare(level: number, node: number, x: number, y: number): number {
    const boxes = this.levels[level];
    const dx = Math.max(boxes[4 * node] - x, 0, x - boxes[4 * node + 2]);
    const dy = Math.max(boxes[4 * node + 1] - y, 0, y - boxes[4 * node + 3]);
    return dx * dx + dy * dy;
  }

  private describe(x: number, y: number, { square, segment: i, share }: Found): NearestOnLine {
    const { distance } = this.line;
    const last = this.line.x.length - 2;
    const at = distance[i] + share * (distance[i + 1] - distance[i]);
    const gap = Math.sqrt(square);
    const [ex, ey] = [
      x - this.line.x[i] - share * (this.line.x[i + 1] - this.line.x[i]),
      y - this.line.y[i] - share * (this.line.y[i + 1] - this.line.y[i]),
    ];
    const [ux, uy] = this.direction(i);
    const atBegin = i === 0 && share === 0;
    const atEnd = i === last && share === 1;
    const beyond = atBegin ? Math.max(0, -(ex * ux + ey * uy)) : atEnd ? Math.max(0, ex * ux + ey * uy) : 0;
    if (atBegin || atEnd) return { distance: at, offset: ex * uy - ey * ux, beyond, gap };
    // At a corner the side is that of the mean direction of the two segments.
    const near = share === 0 ? this.direction(i - 1) : share === 1 ? this.direction(i + 1) : [ux, uy];
    const side = ex * (uy + near[1]) - ey * (ux + near[0]);
    return { distance: at, offset: side < 0 ? -gap : gap, beyond, gap };
  }

  private direction(i: number): [number, number] {
    const { x, y } = this.line;
    const [dx, dy] = [x[i + 1] - x[i], y[i + 1] - y[i]];
    const length = Math.hypot(dx, dy);
    return length === 0 ? [0, 0] : [dx / length, dy / length];
  }
}

interface Found {
  square: number;
  segment: number;
  /** Place within the segment, 0 to 1. */
  share: number;
}

/** Position and direction (unit vector) of a line at a distance from its begin; ends are kept. */
export function pointAt(
  { x, y, distance }: MeasuredLine,
  at: number,
): { x: number; y: number; ux: number; uy: number } {
  let low = 0;
  let high = distance.length - 2;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (distance[middle] <= at) low = middle;
    else high = middle - 1;
  }
  const span = distance[low + 1] - distance[low];
  const share = span > 0 ? Math.min(1, Math.max(0, (at - distance[low]) / span)) : 0;
  const [dx, dy] = [x[low + 1] - x[low], y[low + 1] - y[low]];
  const length = Math.hypot(dx, dy) || 1;
  return { x: x[low] + share * dx, y: y[low] + share * dy, ux: dx / length, uy: dy / length };
}

import { BoxIndex } from './box-index.js';
import type { Bounds, Polygon } from './polygon.js';

/** Edges in one piece of a ring without a further division. */
const LEAF = 8;
/** The position of an edge on a line across it is computed to within this share of the largest coordinate, with a wide margin. */
const ROUNDING = 1e-12;

/**
 * A ring prepared for many locations. The edges are halved again and again into pieces, each with the box round it. A piece
 * that lies to the right of a location is passed by as often, modulo 2, as if it were the one edge between its ends; a piece
 * to the left, above or below is not passed at all. Only edges near the location are therefore looked at one by one.
 */
export class RingIndex {
  /** Number of edges and pieces compared with a location so far, by which tests see how the work grows. */
  compared = 0;
  /** Box of the ring, with a margin for rounding. */
  readonly bounds: Bounds;
  readonly #ring: Float64Array;
  /** Number of edges: one from every vertex. */
  readonly #edges: number;
  /** Number of pieces of LEAF edges, rounded up to a power of two. */
  readonly #leaves: number;
  /** Boxes of the pieces, four numbers each: 1 the whole ring, 2k and 2k + 1 the halves of k. */
  readonly #boxes: Float64Array;
  readonly #margin: number;

  /** @param ring x, y, x, y ...; the first vertex may be repeated at the end; not copied */
  constructor(ring: Float64Array) {
    this.#ring = ring;
    this.#edges = ring.length >> 1;
    let leaves = 1;
    while (leaves * LEAF < this.#edges) leaves *= 2;
    this.#leaves = leaves;
    const boxes = new Float64Array(leaves * 8);
    const inf = Number.POSITIVE_INFINITY;
    for (let node = 0; node < 2 * leaves; node++) boxes.set([inf, inf, -inf, -inf], node * 4);
    let largest = 0;
    for (let edge = 0; edge < this.#edges; edge++) {
      const at = (leaves + Math.floor(edge / LEAF)) * 4;
      for (const k of [edge * 2, (edge * 2 + 2) % ring.length]) widen(boxes, at, ring[k], ring[k + 1]);
      largest = Math.max(largest, Math.abs(ring[edge * 2]), Math.abs(ring[edge * 2 + 1]));
    }
    for (let node = leaves - 1; node > 0; node--) {
      const [at, left, right] = [node * 4, node * 8, node * 8 + 4];
      for (const k of [0, 1]) boxes[at + k] = Math.min(boxes[left + k], boxes[right + k]);
      for (const k of [2, 3]) boxes[at + k] = Math.max(boxes[left + k], boxes[right + k]);
    }
    this.#boxes = boxes;
    this.#margin = largest * ROUNDING;
    const [minX, minY, maxX, maxY] = boxes.subarray(4, 8);
    const margin = this.#margin;
    this.bounds = { minX: minX - margin, minY: minY - margin, maxX: maxX + margin, maxY: maxY + margin };
  }

  /** Whether a location lies in the ring: the same answer as `pointInRing`, also on an edge. */
  holds(x: number, y: number): boolean {
    return this.#isOdd(1, x, y);
  }

  /** Whether the edges of a piece pass the line from the location to the right an odd number of times. */
  #isOdd(node: number, x: number, y: number): boolean {
    this.compared++;
    const boxes = this.#boxes;
    const at = node * 4;
    if (boxes[at + 1] > y || boxes[at + 3] <= y || boxes[at + 2] < x - this.#margin) return false;
    if (boxes[at] > x + this.#margin) {
      const [first, end] = this.#edgesOf(node);
      return this.#y(first) > y !== this.#y(end) > y;
    }
    if (node < this.#leaves) return this.#isOdd(node * 2, x, y) !== this.#isOdd(node * 2 + 1, x, y);
    return this.#isOddInLeaf(node, x, y);
  }

  #isOddInLeaf(node: number, x: number, y: number): boolean {
    const ring = this.#ring;
    const [first, end] = this.#edgesOf(node);
    let odd = false;
    for (let edge = first; edge < end; edge++) {
      this.compared++;
      const k = edge * 2;
      const next = k + 2 < ring.length ? k + 2 : 0;
      const py = ring[k + 1];
      const qy = ring[next + 1];
      if (py > y === qy > y) continue;
      const px = ring[k];
      const qx = ring[next];
      // Always from the lower to the upper end, as in `pointInRing`.
      const at = py < qy ? px + ((y - py) * (qx - px)) / (qy - py) : qx + ((y - qy) * (px - qx)) / (py - qy);
      if (x < at) odd = !odd;
    }
    return odd;
  }

  /** The edges of a piece: number of the first, and of the one past the last. */
  #edgesOf(node: number): [number, number] {
    let width = 1;
    let leaf = node;
    while (leaf < this.#leaves) {
      leaf *= 2;
      width *= 2;
    }
    const first = (leaf - this.#leaves) * LEAF;
    return [Math.min(first, this.#edges), Math.min(first + width * LEAF, this.#edges)];
  }

  #y(vertex: number): number {
    return this.#ring[(vertex < this.#edges ? vertex : 0) * 2 + 1];
  }

  /**
   * The edges within `radius` of a location, in the order of the ring, four numbers each: both ends. The distance is judged
   * by `squaredDistance`, in the unit of the ring squared.
   */
  edgesNear(
    x: number,
    y: number,
    radius: number,
    squaredDistance: (ax: number, ay: number, bx: number, by: number, x: number, y: number) => number,
  ): Float64Array {
    const near: number[] = [];
    const ring = this.#ring;
    const boxes = this.#boxes;
    const wide = radius * (1 + 1e-9) + this.#margin;
    const visit = (node: number): void => {
      this.compared++;
      const at = node * 4;
      if (boxes[at] > x + wide || boxes[at + 2] < x - wide || boxes[at + 1] > y + wide || boxes[at + 3] < y - wide)
        return;
      if (node < this.#leaves) {
        visit(node * 2);
        visit(node * 2 + 1);
        return;
      }
      const [first, end] = this.#edgesOf(node);
      for (let k = first * 2; k < end * 2; k += 2) {
        this.compared++;
        const next = k + 2 < ring.length ? k + 2 : 0;
        if (squaredDistance(ring[k], ring[k + 1], ring[next], ring[next + 1], x, y) <= radius * radius)
          near.push(ring[k], ring[k + 1], ring[next], ring[next + 1]);
      }
    };
    visit(1);
    return Float64Array.from(near);
  }
}

function widen(boxes: Float64Array, at: number, x: number, y: number): void {
  if (x < boxes[at]) boxes[at] = x;
  if (y < boxes[at + 1]) boxes[at + 1] = y;
  if (x > boxes[at + 2]) boxes[at + 2] = x;
  if (y > boxes[at + 3]) boxes[at + 3] = y;
}

/** Rings found by their boxes. */
class Rings {
  readonly rings: RingIndex[];
  readonly boxes: BoxIndex;

  constructor(rings: readonly Float64Array[]) {
    this.rings = rings.map((ring) => new RingIndex(ring));
    this.boxes = new BoxIndex(this.rings.map(({ bounds }) => bounds));
  }

  get compared(): number {
    return this.rings.reduce((sum, { compared }) => sum + compared, this.boxes.compared);
  }
}

/** Polygons prepared for many locations. */
export class PolygonIndex {
  readonly #outer: Rings;
  readonly #holes: Rings[];

  /** @param polygons not copied, and not to be changed afterwards */
  constructor(polygons: readonly Polygon[]) {
    this.#outer = new Rings(polygons.map(({ outer }) => outer));
    this.#holes = polygons.map(({ holes }) => new Rings(holes));
  }

  /** Number of edges, pieces of rings and boxes compared with a location so far, by which tests see how the work grows. */
  get compared(): number {
    return this.#holes.reduce((sum, { compared }) => sum + compared, this.#outer.compared);
  }

  /** Whether a location lies in any of the polygons: the same answer as `pointInPolygons`. */
  holds(x: number, y: number): boolean {
    const { boxes, rings } = this.#outer;
    return boxes.some(x, y, (i) => rings[i].holds(x, y) && !this.#isInHole(i, x, y));
  }

  #isInHole(polygon: number, x: number, y: number): boolean {
    const { boxes, rings } = this.#holes[polygon];
    return boxes.some(x, y, (i) => rings[i].holds(x, y));
  }
}

const known = new WeakMap<readonly Polygon[], PolygonIndex>();

/** The index of a list of polygons, made once for each list. */
export function polygonIndexOf(polygons: readonly Polygon[]): PolygonIndex {
  const found = known.get(polygons) ?? new PolygonIndex(polygons);
  known.set(polygons, found);
  return found;
}

import type { Bounds } from './polygon.js';

/** Boxes in one node without a further division. */
const LEAF = 4;

/**
 * Upright boxes that are found by their place: a lookup takes time that grows with the logarithm of their number, and with
 * the number found. Boxes without an extent (a maximum below its minimum, or NaN) are never found.
 */
export class BoxIndex {
  /** Number of boxes and nodes compared with a place or a box so far, by which tests see how the work grows. */
  compared = 0;
  readonly #boxes: readonly Bounds[];
  readonly #root: Node | null;

  /** @param boxes in any unit; not copied, and not to be changed afterwards */
  constructor(boxes: readonly Bounds[]) {
    this.#boxes = boxes;
    const sound = [...boxes.keys()].filter((i) => boxes[i].minX <= boxes[i].maxX && boxes[i].minY <= boxes[i].maxY);
    this.#root = sound.length > 0 ? nodeOf(boxes, sound) : null;
  }

  /** Whether `test` is true for any box that contains the location, borders included. It is called until it is true. */
  some(x: number, y: number, test: (index: number) => boolean): boolean {
    return this.#visit({ minX: x, minY: y, maxX: x, maxY: y }, test);
  }

  /** Lowest number of a box that contains the location, borders included; -1 where none does. */
  firstAt(x: number, y: number): number {
    let first = -1;
    this.some(x, y, (index) => {
      if (first < 0 || index < first) first = index;
      return false;
    });
    return first;
  }

  /** Numbers, ascending, of the boxes that share a location with `box`, borders included. */
  meeting(box: Bounds): number[] {
    const found: number[] = [];
    this.#visit(box, (index) => {
      found.push(index);
      return false;
    });
    return found.sort((a, b) => a - b);
  }

  #visit(box: Bounds, test: (index: number) => boolean): boolean {
    const waiting = this.#root === null ? [] : [this.#root];
    for (let node = waiting.pop(); node !== undefined; node = waiting.pop()) {
      this.compared++;
      if (!meets(node.bounds, box)) continue;
      if (node.parts) for (const part of node.parts) waiting.push(part);
      for (const index of node.items) {
        this.compared++;
        if (meets(this.#boxes[index], box) && test(index)) return true;
      }
    }
    return false;
  }
}

interface Node {
  bounds: Bounds;
  /** Two halves, or else the boxes themselves. */
  parts: [Node, Node] | null;
  items: readonly number[];
}

/** Halves the boxes at the median of their centres, across the longer side. */
function nodeOf(boxes: readonly Bounds[], items: number[]): Node {
  const bounds = { ...boxes[items[0]] };
  for (const index of items) {
    const box = boxes[index];
    bounds.minX = Math.min(bounds.minX, box.minX);
    bounds.minY = Math.min(bounds.minY, box.minY);
    bounds.maxX = Math.max(bounds.maxX, box.maxX);
    bounds.maxY = Math.max(bounds.maxY, box.maxY);
  }
  if (items.length <= LEAF) return { bounds, parts: null, items };
  const wide = bounds.maxX - bounds.minX >= bounds.maxY - bounds.minY;
  const middle = ({ minX, minY, maxX, maxY }: Bounds) => (wide ? minX / 2 + maxX / 2 : minY / 2 + maxY / 2);
  items.sort((a, b) => middle(boxes[a]) - middle(boxes[b]) || a - b);
  const half = items.length >> 1;
  return { bounds, parts: [nodeOf(boxes, items.slice(0, half)), nodeOf(boxes, items.slice(half))], items: [] };
}

function meets(a: Bounds, b: Bounds): boolean {
  return a.minX <= b.maxX && a.maxX >= b.minX && a.minY <= b.maxY && a.maxY >= b.minY;
}

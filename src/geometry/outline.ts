/**
 * Cells of a sparse grid, sorted by row, then column. `inside` marks an empty cell that is a hole: enclosed by occupied
 * cells, unlike the empty cells around the data.
 */
export interface OutlinedCells {
  column: Int32Array;
  row: Int32Array;
  /** Index into the occupied cells handed in, or -1 for an empty cell enclosed by them. */
  source: Int32Array;
  /** 1 for an occupied cell on the rim: one of its eight neighbours is outside the data. */
  rim: Uint8Array;
}

const BLOCK = 64;
/** Blocks a cluster may span before holes as large as whole blocks are no longer looked for (8000 x 8000 blocks). */
const MOST_BLOCKS = 64_000_000;

/**
 * Finds the outline of occupied cells and the empty cells within it. A cell is outside when it can be reached from beyond
 * the data in steps along rows and columns without passing an opening of `neck` cells or less. Time and memory grow with
 * the number of occupied blocks of 64 x 64 cells, not with the bounding box: a single point far away costs one block.
 */
export function outlineCells(column: Int32Array, row: Int32Array, neck: number): OutlinedCells {
  const map = new BlockMap(column, row, Math.ceil(neck / 2));
  map.floodOutside();
  return map.collect();
}

const EMPTY = 0;
const OUTSIDE = 255;
const OCCUPIED = 1;

class BlockMap {
  readonly #blocks = new Map<number, Map<number, Uint8Array>>();
  readonly #column: Int32Array;
  readonly #row: Int32Array;
  readonly #radius: number;

  constructor(column: Int32Array, row: Int32Array, radius: number) {
    this.#column = column;
    this.#row = row;
    this.#radius = radius;
    for (let i = 0; i < column.length; i++)
      this.#open(column[i] >> 6, row[i] >> 6)[local(column[i], row[i])] = OCCUPIED;
    this.#addEnclosedBlocks();
  }

  #open(bx: number, by: number): Uint8Array {
    let line = this.#blocks.get(by);
    if (!line) {
      line = new Map();
      this.#blocks.set(by, line);
    }
    let block = line.get(bx);
    if (!block) {
      block = new Uint8Array(BLOCK * BLOCK);
      line.set(bx, block);
    }
    return block;
  }

  #get(x: number, y: number): number {
    const block = this.#blocks.get(y >> 6)?.get(x >> 6);
    return block ? block[local(x, y)] : OUTSIDE;
  }

  /** Empty blocks that occupied blocks surround: a void may be larger than a block. */
  #addEnclosedBlocks(): void {
    for (const cluster of this.#clusters()) {
      const width = cluster.x1 - cluster.x0 + 3;
      const height = cluster.y1 - cluster.y0 + 3;
      if (width * height > MOST_BLOCKS) continue;
      const seen = new Uint8Array(width * height);
      for (const [bx, by] of cluster.members) seen[(by - cluster.y0 + 1) * width + bx - cluster.x0 + 1] = 1;
      const stack = [0];
      seen[0] = 2;
      while (stack.length > 0) {
        const at = stack.pop()!;
        const x = at % width;
        for (const next of [x > 0 ? at - 1 : -1, x < width - 1 ? at + 1 : -1, at - width, at + width]) {
          if (next < 0 || next >= seen.length || seen[next] !== 0) continue;
          seen[next] = 2;
          stack.push(next);
        }
      }
      for (let at = 0; at < seen.length; at++) {
        if (seen[at] === 0) this.#open((at % width) - 1 + cluster.x0, Math.floor(at / width) - 1 + cluster.y0);
      }
    }
  }

  /** Groups of blocks that touch, corners included. */
  *#clusters(): Generator<{ x0: number; y0: number; x1: number; y1: number; members: [number, number][] }> {
    const seen = new Set<Uint8Array>();
    for (const [by, line] of [...this.#blocks.entries()]) {
      for (const [bx, block] of [...line.entries()]) {
        if (seen.has(block)) continue;
        seen.add(block);
        const members: [number, number][] = [[bx, by]];
        for (let m = 0; m < members.length; m++) {
          const [x, y] = members[m];
          for (let dy = -1; dy <= 1; dy++) {
            for (let dx = -1; dx <= 1; dx++) {
              const next = this.#blocks.get(y + dy)?.get(x + dx);
              if (!next || seen.has(next)) continue;
              seen.add(next);
              members.push([x + dx, y + dy]);
            }
          }
        }
        let [x0, y0, x1, y1] = [bx, by, bx, by];
        for (const [x, y] of members) {
          x0 = Math.min(x0, x);
          x1 = Math.max(x1, x);
          y0 = Math.min(y0, y);
          y1 = Math.max(y1, y);
        }
        yield { x0, y0, x1, y1, members };
      }
    }
  }

  /**
   * Flood fill from missing blocks through cells without an occupied cell within the radius; the filled region is then
   * dilated by the radius. Cells that are not filled are inside.
   */
  floodOutside(): void {
    const r = this.#radius;
    const open = (x: number, y: number) => this.#get(x, y) === EMPTY && (r === 0 || this.#clear(x, y, r));
    const stack: number[] = [];
    const enter = (x: number, y: number) => {
      if (!open(x, y)) return;
      this.#set(x, y);
      stack.push(x, y);
    };
    for (const [x, y] of this.#edgeCells()) enter(x, y);
    while (stack.length > 0) {
      const y = stack.pop()!;
      const x = stack.pop()!;
      enter(x - 1, y);
      enter(x + 1, y);
      enter(x, y - 1);
      enter(x, y + 1);
    }
    for (let step = 0; step < r; step++) this.#widen();
  }

  #set(x: number, y: number): void {
    this.#blocks.get(y >> 6)!.get(x >> 6)![local(x, y)] = OUTSIDE;
  }

  #clear(x: number, y: number, r: number): boolean {
    for (let dy = -r; dy <= r; dy++) {
      for (let dx = -r; dx <= r; dx++) if (this.#get(x + dx, y + dy) === OCCUPIED) return false;
    }
    return true;
  }

  /** Cells along the sides of blocks that have no neighbour block there. */
  *#edgeCells(): Generator<[number, number]> {
    for (const [by, line] of this.#blocks) {
      for (const bx of line.keys()) {
        const has = (dx: number, dy: number) => this.#blocks.get(by + dy)?.has(bx + dx) === true;
        for (let k = 0; k < BLOCK; k++) {
          if (!has(-1, 0)) yield [bx * BLOCK, by * BLOCK + k];
          if (!has(1, 0)) yield [bx * BLOCK + BLOCK - 1, by * BLOCK + k];
          if (!has(0, -1)) yield [bx * BLOCK + k, by * BLOCK];
          if (!has(0, 1)) yield [bx * BLOCK + k, by * BLOCK + BLOCK - 1];
        }
      }
    }
  }

  #widen(): void {
    const turned: number[] = [];
    for (const [by, line] of this.#blocks) {
      for (const [bx, block] of line) {
        for (let k = 0; k < block.length; k++) {
          if (block[k] !== EMPTY) continue;
          const x = bx * BLOCK + (k & 63);
          const y = by * BLOCK + (k >> 6);
          if (this.#touchesOutside(x, y)) turned.push(x, y);
        }
      }
    }
    for (let i = 0; i < turned.length; i += 2) this.#set(turned[i], turned[i + 1]);
  }

  #touchesOutside(x: number, y: number): boolean {
    for (let dy = -1; dy <= 1; dy++) {
      for (let dx = -1; dx <= 1; dx++) if (this.#get(x + dx, y + dy) === OUTSIDE) return true;
    }
    return false;
  }

  collect(): OutlinedCells {
    const holes: [number, number][] = [];
    for (const [by, line] of this.#blocks) {
      for (const [bx, block] of line) {
        for (let k = 0; k < block.length; k++) {
          if (block[k] === EMPTY) holes.push([bx * BLOCK + (k & 63), by * BLOCK + (k >> 6)]);
        }
      }
    }
    holes.sort((p, q) => p[1] - q[1] || p[0] - q[0]);
    const total = this.#column.length + holes.length;
    const out: OutlinedCells = {
      column: new Int32Array(total),
      row: new Int32Array(total),
      source: new Int32Array(total),
      rim: new Uint8Array(total),
    };
    for (let at = 0, cell = 0, hole = 0; at < total; at++) {
      const nextHole = holes[hole];
      const takeHole =
        cell >= this.#column.length ||
        (nextHole !== undefined &&
          (nextHole[1] < this.#row[cell] || (nextHole[1] === this.#row[cell] && nextHole[0] < this.#column[cell])));
      out.column[at] = takeHole ? nextHole[0] : this.#column[cell];
      out.row[at] = takeHole ? nextHole[1] : this.#row[cell];
      out.source[at] = takeHole ? -1 : cell;
      out.rim[at] = !takeHole && this.#touchesOutside(out.column[at], out.row[at]) ? 1 : 0;
      if (takeHole) hole++;
      else cell++;
    }
    return out;
  }
}

function local(x: number, y: number): number {
  return ((y & 63) << 6) | (x & 63);
}

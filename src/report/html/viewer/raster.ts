import type { LayerHead } from './payload.js';

/** Number of cells along the edge of a block; blocks without a cell are not kept. */
export const BLOCK = 128;
const SLOTS = BLOCK * BLOCK;
/** Marks a slot without a cell. */
const NONE = -0x80000000;

/** Blocks of one level of detail: each pixel has the mean and the worst value of a square of cells. */
export interface Level {
  /** Number of cells along the edge of a pixel: 1, 2, 4 ... */
  factor: number;
  blocks: Map<number, { column: number; row: number; mean: Float32Array; worst: Float32Array }>;
}

/** A grid for drawing and reading: its cells as whole numbers of steps, and coarser levels, computed when they are needed. */
export class Raster {
  readonly head: LayerHead;
  #valueOf: (steps: number) => number;
  readonly #cells = new Map<number, { column: number; row: number; steps: Int32Array }>();
  readonly #levels: (Level & { counts: Map<number, Float32Array> })[] = [];

  constructor(head: LayerHead, bytes: Uint8Array) {
    this.head = head;
    this.#valueOf = (steps) => steps * head.step;
    const rowSteps = unpack(bytes, 0, head.runs, 4);
    const columnSteps = unpack(bytes, head.runs * 4, head.runs, 4);
    const lengths = unpack(bytes, head.runs * 8, head.runs, 4);
    const values = unpack(bytes, head.runs * 12, head.cells, head.bytes);
    let at = 0;
    let x = 0;
    let y = 0;
    for (let r = 0; r < head.runs; r++) {
      y += rowSteps[r];
      x += columnSteps[r];
      const by = Math.floor(y / BLOCK);
      const line = (y - by * BLOCK) * BLOCK;
      for (let end = x + lengths[r]; x < end; ) {
        const bx = Math.floor(x / BLOCK);
        const west = bx * BLOCK;
        const { steps } = this.#open(bx, by);
        for (const stop = Math.min(end, west + BLOCK); x < stop; x++) steps[line + x - west] = values[at++];
      }
    }
  }

  /** Draws another figure of the stored whole numbers from now on; NaN hides a cell. */
  drawAs(figureOf: (steps: number) => number): void {
    this.#valueOf = figureOf;
    this.#levels.length = 0;
  }

  /** What is stored for a cell, a whole number of steps; null where there is no cell. */
  stepsAt(column: number, row: number): number | null {
    const bx = Math.floor(column / BLOCK);
    const by = Math.floor(row / BLOCK);
    const block = this.#cells.get(keyOf(bx, by));
    const steps = block?.steps[(row - by * BLOCK) * BLOCK + column - bx * BLOCK];
    return steps === undefined || steps === NONE ? null : steps;
  }

  /** Every value that is drawn, in no particular order; NaN for hidden cells. */
  *values(): Generator<number> {
    for (const { steps } of this.#cells.values()) {
      for (let k = 0; k < SLOTS; k++) if (steps[k] !== NONE) yield this.#valueOf(steps[k]);
    }
  }

  /** The level whose pixels are 2 ** index cells wide. */
  level(index: number): Level {
    for (let made = this.#levels.length; made <= index; made++) {
      this.#levels.push(made === 0 ? this.#finest() : this.#coarser(this.#levels[made - 1]));
    }
    return this.#levels[index];
  }

  #open(column: number, row: number) {
    const key = keyOf(column, row);
    let block = this.#cells.get(key);
    if (!block) {
      block = { column, row, steps: new Int32Array(SLOTS).fill(NONE) };
      this.#cells.set(key, block);
    }
    return block;
  }

  #finest() {
    const blocks: Level['blocks'] = new Map();
    for (const [key, { column, row, steps }] of this.#cells) {
      const mean = new Float32Array(SLOTS);
      for (let k = 0; k < SLOTS; k++) mean[k] = steps[k] === NONE ? Number.NaN : this.#valueOf(steps[k]);
      blocks.set(key, { column, row, mean, worst: mean });
    }
    return { factor: 1, blocks, counts: new Map<number, Float32Array>() };
  }

  #coarser(fine: Level & { counts: Map<number, Float32Array> }) {
    const { signed, sense } = this.head;
    const blocks: Level['blocks'] = new Map();
    const counts = new Map<number, Float32Array>();
    for (const [fineKey, { column, row, mean, worst }] of fine.blocks) {
      const fineCounts = fine.counts.get(fineKey);
      const key = keyOf(column >> 1, row >> 1);
      let block = blocks.get(key);
      if (!block) {
        block = {
          column: column >> 1,
          row: row >> 1,
          mean: new Float32Array(SLOTS).fill(Number.NaN),
          worst: new Float32Array(SLOTS).fill(Number.NaN),
        };
        blocks.set(key, block);
        counts.set(key, new Float32Array(SLOTS));
      }
      const held = counts.get(key) as Float32Array;
      const east = ((column & 1) * BLOCK) >> 1;
      const north = ((row & 1) * BLOCK) >> 1;
      for (let y = 0; y < BLOCK; y++) {
        const line = (north + (y >> 1)) * BLOCK + east;
        for (let x = 0; x < BLOCK; x++) {
          const from = y * BLOCK + x;
          const value = mean[from];
          if (Number.isNaN(value)) continue;
          const to = line + (x >> 1);
          const n = fineCounts ? fineCounts[from] : 1;
          const known = held[to];
          held[to] = known + n;
          if (known === 0) {
            block.mean[to] = value;
            block.worst[to] = worst[from];
            continue;
          }
          block.mean[to] += (value - block.mean[to]) * (n / (known + n));
          if (isWorse(worst[from], block.worst[to], signed, sense)) block.worst[to] = worst[from];
        }
      }
    }
    return { factor: fine.factor * 2, blocks, counts };
  }
}

/** Whether the first value is worse than the second: farther from zero, or farther on the bad side of the limit. */
export function isWorse(a: number, b: number, signed: boolean, sense: LayerHead['sense']): boolean {
  if (signed) return Math.abs(a) > Math.abs(b);
  return sense === 'at-least' ? a < b : a > b;
}

/** Whether a value is on the bad side of the layer's limit. */
export function isBeyond(value: number, { signed, limit, sense }: LayerHead): boolean {
  if (limit === null) return false;
  if (signed) return Math.abs(value) > limit;
  return sense === 'at-least' ? value < limit : value > limit;
}

function keyOf(column: number, row: number): number {
  return row * 0x1000000 + column;
}

/** One list as packed-lists.ts writes it: the lowest bytes of all numbers first, zigzag coded. */
function unpack(bytes: Uint8Array, start: number, count: number, width: number): Int32Array {
  const values = new Int32Array(count);
  for (let plane = 0; plane < width; plane++) {
    const at = start + plane * count;
    const shift = 8 * plane;
    for (let i = 0; i < count; i++) values[i] |= bytes[at + i] << shift;
  }
  for (let i = 0; i < count; i++) values[i] = (values[i] >>> 1) ^ -(values[i] & 1);
  return values;
}

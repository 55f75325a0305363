import { Fault } from '../../fault.js';
import { KeyTable } from './key-table.js';
import { headerBytes, type PackedHeader, readHeader, writeHeader } from './packed-header.js';

interface Arrays {
  u32: Uint32Array;
  i32: Int32Array;
  f64: Float64Array;
}

/**
 * A number kept for each cell. `merge` says how the numbers of two states become one; it also sets the value of a cell
 * that holds nothing yet: 0 for `sum` and `or`; for `min` and `max` the largest and smallest number (i32: 2^31 - 1 and
 * its negative; f64: Infinity and -Infinity; u32: 2^32 - 1 and 0).
 */
type CellColumn =
  | { type: 'u32'; merge: 'sum' | 'or' | 'min' | 'max' }
  | { type: 'i32'; merge: 'min' | 'max' }
  | { type: 'f64'; merge: 'sum' | 'min' | 'max' };

export type CellColumns = Readonly<Record<string, CellColumn>>;

/** The cells of one block: a typed array for each column, one number for each cell. */
export type CellBlock<C extends CellColumns> = { readonly [K in keyof C]: Arrays[C[K]['type']] };

/** What a measurement declares, once, to keep cells. */
export interface CellLayout<C extends CellColumns = CellColumns> extends PackedHeader {
  /** Whole numbers in the key of a block: 2 to 4. */
  keys: 2 | 3 | 4;
  /** Cells of a block: an even number. */
  cells: number;
  columns: C;
}

/**
 * Cells kept in blocks, found by a key of whole numbers (block column, block row, pass, ...). The loop over points of a
 * measurement opens a block and writes into its columns directly; packing and merging are done here.
 */
export class CellGrid<C extends CellColumns> {
  readonly #layout: CellLayout<C>;
  readonly #settings: readonly number[];
  readonly #table = new KeyTable();
  readonly #buffers: ArrayBuffer[] = [];
  readonly #blocks: CellBlock<C>[] = [];

  /** @param settings whole numbers of 32 bits that states to be merged must have in common, such as the edge of a cell */
  constructor(layout: CellLayout<C>, settings: readonly number[]) {
    this.#layout = layout;
    this.#settings = settings;
  }

  /** All blocks, in order of first use: `blocks[index]`. */
  get blocks(): readonly CellBlock<C>[] {
    return this.#blocks;
  }

  /** The block with this key, begun with empty cells where it is new. */
  open(a: number, b: number, c = 0, d = 0): CellBlock<C> {
    const index = this.#table.add(a, b, c, d);
    if (index === this.#blocks.length) this.#begin();
    return this.#blocks[index];
  }

  /** The block with this key, or null. */
  find(a: number, b: number, c = 0, d = 0): CellBlock<C> | null {
    const index = this.#table.find(a, b, c, d);
    return index < 0 ? null : this.#blocks[index];
  }

  /** Number 0 to 3 of the key of a block. */
  key(index: number, part: number): number {
    return this.#table.part(index, part);
  }

  /** Indices of all blocks, sorted by key, first number first. */
  sorted(): Int32Array {
    return this.#table.sorted();
  }

  /** Canonical bytes: header, keys, cells, in the order of the keys. Equal cells give equal bytes. */
  pack(): ArrayBuffer {
    const { keys } = this.#layout;
    const order = this.sorted();
    const { keysAt, cellsAt, blockBytes } = this.#places(order.length);
    const packed = new ArrayBuffer(cellsAt + order.length * blockBytes);
    writeHeader(packed, this.#layout, [order.length], this.#settings);
    const words = new Int32Array(packed, keysAt, order.length * keys);
    const bytes = new Uint8Array(packed);
    for (let i = 0; i < order.length; i++) {
      for (let k = 0; k < keys; k++) words[i * keys + k] = this.#table.part(order[i], k);
      bytes.set(new Uint8Array(this.#buffers[order[i]]), cellsAt + i * blockBytes);
    }
    return packed;
  }

  /**
   * Adds packed cells to these.
   * @throws RangeError where the bytes are of another measurement, version or settings
   * @throws Fault where a sum becomes too large to be exact
   */
  merge(packed: ArrayBuffer): void {
    const { keys } = this.#layout;
    const [count] = readHeader(packed, this.#layout, 1, this.#settings);
    const { keysAt, cellsAt, blockBytes } = this.#places(count);
    const words = new Int32Array(packed, keysAt, count * keys);
    for (let i = 0; i < count; i++) {
      const w = i * keys;
      const index = this.#table.add(words[w], words[w + 1], keys > 2 ? words[w + 2] : 0, keys > 3 ? words[w + 3] : 0);
      const at = cellsAt + i * blockBytes;
      if (index < this.#blocks.length) this.#mergeBlock(this.#blocks[index], packed, at);
      else this.#keep(packed.slice(at, at + blockBytes));
    }
  }

  #places(blocks: number): { keysAt: number; cellsAt: number; blockBytes: number } {
    const { keys, cells, columns } = this.#layout;
    const keysAt = headerBytes(1 + this.#settings.length);
    const cellsAt = keysAt + Math.ceil((blocks * keys * 4) / 8) * 8;
    let blockBytes = 0;
    for (const name in columns) blockBytes += cells * bytesOf(columns[name].type);
    return { keysAt, cellsAt, blockBytes };
  }

  #begin(): void {
    const { cells, columns } = this.#layout;
    const block = this.#keep(new ArrayBuffer(this.#places(0).blockBytes));
    for (const name in columns) {
      const empty = emptyValue(columns[name]);
      if (empty !== 0) block[name].fill(empty, 0, cells);
    }
  }

  #keep(buffer: ArrayBuffer): CellBlock<C> {
    const block = this.#view(buffer, 0);
    this.#buffers.push(buffer);
    this.#blocks.push(block);
    return block;
  }

  /** Columns one behind the other, those of 64 bits first, so that each begins where its numbers may. */
  #view(buffer: ArrayBuffer, from: number): CellBlock<C> {
    const { cells, columns } = this.#layout;
    const block: Record<string, Arrays[keyof Arrays]> = {};
    let at = from;
    for (const wide of [true, false]) {
      for (const name in columns) {
        const { type } = columns[name];
        if ((type === 'f64') !== wide) continue;
        block[name] = viewOf(type, buffer, at, cells);
        at += cells * bytesOf(type);
      }
    }
    return block as CellBlock<C>;
  }

  #mergeBlock(to: CellBlock<C>, packed: ArrayBuffer, at: number): void {
    const { id, columns } = this.#layout;
    const from = this.#view(packed, at);
    for (const name in columns) {
      const { type, merge } = columns[name];
      let exact = true;
      if (merge === 'min') keepSmaller(to[name], from[name]);
      else if (merge === 'max') keepLarger(to[name], from[name]);
      else if (merge === 'or') keepBits(to[name] as Uint32Array, from[name] as Uint32Array);
      else if (type === 'u32') exact = addCounts(to[name] as Uint32Array, from[name] as Uint32Array);
      else exact = addSums(to[name] as Float64Array, from[name] as Float64Array);
      if (!exact) throw cellSumTooLarge(id, name);
    }
  }
}

function bytesOf(type: keyof Arrays): number {
  return type === 'f64' ? 8 : 4;
}

function viewOf(type: keyof Arrays, buffer: ArrayBuffer, at: number, length: number): Arrays[keyof Arrays] {
  if (type === 'f64') return new Float64Array(buffer, at, length);
  return type === 'i32' ? new Int32Array(buffer, at, length) : new Uint32Array(buffer, at, length);
}

function emptyValue({ type, merge }: CellColumn): number {
  if (merge === 'sum' || merge === 'or') return 0;
  if (type === 'f64') return merge === 'min' ? Number.POSITIVE_INFINITY : Number.NEGATIVE_INFINITY;
  if (type === 'i32') return merge === 'min' ? 2 ** 31 - 1 : 1 - 2 ** 31;
  return merge === 'min' ? 2 ** 32 - 1 : 0;
}

/** False where a count did not fit in 32 bits: then the sum is below both its parts. Additions stay in 32 bits, which is faster. */
function addCounts(to: Uint32Array, from: Uint32Array): boolean {
  let exact = true;
  for (let k = 0; k < to.length; k++) {
    const more = from[k];
    const sum = (to[k] + more) >>> 0;
    to[k] = sum;
    if (sum < more) exact = false;
  }
  return exact;
}

/** False where a sum of whole numbers left the range in which they are exact, 2^53. */
function addSums(to: Float64Array, from: Float64Array): boolean {
  let exact = true;
  for (let k = 0; k < to.length; k++) {
    to[k] += from[k];
    if (to[k] > Number.MAX_SAFE_INTEGER || to[k] < -Number.MAX_SAFE_INTEGER) exact = false;
  }
  return exact;
}

function keepSmaller(to: Arrays[keyof Arrays], from: Arrays[keyof Arrays]): void {
  for (let k = 0; k < to.length; k++) if (from[k] < to[k]) to[k] = from[k];
}

function keepLarger(to: Arrays[keyof Arrays], from: Arrays[keyof Arrays]): void {
  for (let k = 0; k < to.length; k++) if (from[k] > to[k]) to[k] = from[k];
}

function keepBits(to: Uint32Array, from: Uint32Array): void {
  for (let k = 0; k < to.length; k++) to[k] |= from[k];
}

/** The sum of a column of a cell left the range in which whole numbers are exact. */
export function cellSumTooLarge(id: string, column: string): Fault {
  return new Fault({
    code: 'cell-sum-too-large',
    where: `${id}, ${column}`,
    what: 'a cell holds more points than can be counted exactly',
    advice: 'Choose smaller cells, or check the delivery in parts',
  });
}

import type { DeliveredFile } from '../delivery/delivery.js';
import { Fault, type FaultFacts } from '../fault.js';
import type { BlockPiece, FactRequest } from '../measure/contract/measurement.js';
import { measurementById } from '../measure/index.js';
import { factKey } from './fact-key.js';
import type { AssignedMeasurement, Assignment, BlockResult, BlockTask, SpanResult, SpanTask } from './job.js';
import { finaliseBlock } from './span-measurer.js';

/** Margin around the extent of a header, metres: headers are rounded, and a foot is not a whole number of quanta. */
const SLACK = 1;
/** A file whose header covers more blocks than this keeps all blocks open until it is read: its extent is probably wrong. */
const MOST_BLOCKS = 10_000;
/** Up to this many pairs of file and block are counted one by one, more by squares of blocks: 2,000 tiles of 1 km have 2 million. */
const MOST_COUNTED = 100_000;
/** The pieces of a block are merged when they have more bytes than LEAST_MERGE, and than MERGE_FACTOR times the last merge. */
const LEAST_MERGE = 8 << 20;
const MERGE_FACTOR = 3;

interface OpenBlock {
  column: number;
  row: number;
  pieces: ArrayBuffer[];
  bytes: number;
  /** Bytes after the last merge. */
  merged: number;
  /** True while a worker merges the pieces. */
  away: boolean;
}

/**
 * The processing blocks of measurements whose states are too large to be kept whole. A block is finalised as soon as every
 * file whose header covers it has been read: only the result of the block is kept then, not its pieces, so that memory does
 * not grow with the delivery. A point may lie outside the extent that its header states. When one arrives for a block that
 * is already finalised, `hasLateBlock` is true: all points must then be read again with `finaliseAtEnd`.
 */
export class BlockStore {
  /** For each measurement with blocks: its index, its open blocks, and the keys of blocks that are finalised. */
  readonly #kinds: { at: number; own: AssignedMeasurement; blocks: Map<string, OpenBlock>; finalised: Set<string> }[] =
    [];
  /** Number of files not read yet that cover a square of blocks, by measurement and square. */
  readonly #open = new Map<string, number>();
  /** Open blocks by measurement and square, so that the end of a file is a matter of its own squares only. */
  readonly #inSquare = new Map<string, Set<OpenBlock>>();
  /** Blocks that began in a square that no unread file covers; they are finalised with the file that they came from. */
  readonly #stray: [measurement: number, block: OpenBlock][] = [];
  readonly #ranges: (Range[] | null)[];
  /** A square has an edge of 2^shift blocks. */
  #shift = 0;
  readonly #spansLeft = new Map<number, number>();
  readonly #parts = new Map<string, { column: number; row: number; part: unknown }[]>();
  readonly #queue: BlockTask[] = [];
  readonly #finaliseAtEnd: boolean;
  readonly #leastMerge: number;
  #unboundedFiles = 0;
  #underWay = 0;
  /** Why something is not known, by measurement (all that rests on its blocks) or by measurement and request. */
  readonly #faults = new Map<string, FaultFacts>();
  /** A point arrived for a block that was already finalised. */
  hasLateBlock = false;
  /** How often a block was looked at to see whether it is complete, by which tests see how the work grows. */
  looks = 0;

  constructor(
    measurements: readonly AssignedMeasurement[],
    tasks: readonly SpanTask[],
    files: readonly DeliveredFile[],
    { finaliseAtEnd = false, leastMerge = LEAST_MERGE }: { finaliseAtEnd?: boolean; leastMerge?: number } = {},
  ) {
    this.#finaliseAtEnd = finaliseAtEnd;
    this.#leastMerge = leastMerge;
    measurements.forEach((own, at) => {
      if (measurementById(own.id).blocks) this.#kinds.push({ at, own, blocks: new Map(), finalised: new Set() });
    });
    for (const { file } of tasks) this.#spansLeft.set(file, (this.#spansLeft.get(file) ?? 0) + 1);
    this.#ranges = files.map((file) => (this.#spansLeft.has(file.index) ? this.#rangesOf(file) : []));
    const ranges = this.#ranges.flatMap((ranges) => ranges ?? []);
    const counted = () => ranges.reduce((sum, range) => sum + squaresOf(range, this.#shift), 0);
    // Every file covers at least one square, however large the squares are.
    while (counted() > Math.max(MOST_COUNTED, 4 * ranges.length)) this.#shift++;
    for (const ranges of this.#ranges) {
      if (ranges === null) this.#unboundedFiles++;
      else this.#count(ranges, 1);
    }
  }

  /** Whether blocks are waiting for a worker or being processed. */
  get busy(): boolean {
    return this.#queue.length > 0 || this.#underWay > 0;
  }

  /** Adds the pieces of a result, and finalises blocks whose files are all read. */
  addPieces(result: SpanResult): void {
    for (const { measurement, piece } of result.blocks ?? []) this.#addPiece(measurement, piece);
    for (const { at, own } of this.#kinds) {
      // A state from the cache is whole; it is cut here.
      const state = result.states[at];
      if (state && state.byteLength > 0) this.#cutState(at, own, state);
    }
    for (const { file } of result.tasks) this.#spanDone(file);
  }

  #cutState(at: number, { id, params }: AssignedMeasurement, state: ArrayBuffer): void {
    try {
      const kind = measurementById(id);
      const whole = kind.create(params);
      kind.merge(whole, state);
      for (const piece of kind.blocks!.cut(whole)) this.#addPiece(at, piece);
      kind.release?.(whole);
    } catch (error) {
      this.#noteFault(`${at}`, Fault.from(error, `measurement ${id}`).facts);
    }
  }

  /** The next block to merge or finalise; null when none is waiting. */
  nextTask(): BlockTask | null {
    const task = this.#queue.shift() ?? null;
    if (task !== null) this.#underWay++;
    return task;
  }

  /** Adds the result of a block that was merged or finalised. */
  addResult({ measurement, column, row, parts, merged, fault }: BlockResult): void {
    this.#underWay--;
    if (fault !== null) {
      this.#noteFault(`${measurement}`, fault);
      return;
    }
    const kind = this.#kinds.find(({ at }) => at === measurement)!;
    if (merged !== null) {
      const block = kind.blocks.get(`${column} ${row}`)!;
      block.away = false;
      block.pieces.push(merged);
      block.bytes += merged.byteLength;
      block.merged = block.bytes;
      this.#finaliseIfComplete(measurement, block);
      return;
    }
    (kind.own.collects ?? []).forEach((request, k) => {
      const key = partKey(measurement, request);
      const { part, fault: partFault } = parts[k];
      if (partFault !== null) {
        this.#noteFault(key, partFault);
        return;
      }
      const list = this.#parts.get(key) ?? [];
      list.push({ column, row, part });
      this.#parts.set(key, list);
    });
  }

  /** Notes that the worker of a block died: nothing that rests on the blocks of its measurement is known then. */
  fail({ measurement }: BlockTask, fault: FaultFacts): void {
    this.#underWay--;
    this.#noteFault(`${measurement}`, fault);
  }

  /** Of several faults the first by its text is kept, whichever came first. */
  #noteFault(key: string, fault: FaultFacts): void {
    const known = this.#faults.get(key);
    if (known === undefined || fault.what < known.what) this.#faults.set(key, fault);
  }

  /** Merges and finalises all waiting blocks in this thread. */
  finaliseHere(assignment: Pick<Assignment, 'measurements'>): void {
    for (let task = this.nextTask(); task !== null; task = this.nextTask()) {
      this.addResult(finaliseBlock(assignment, task));
    }
  }

  /**
   * The parts of a request, one for each block, sorted by column, then row.
   * @throws Fault where a block could not be finalised, or this part of it could not be computed
   */
  parts(measurement: number, request: FactRequest): unknown[] {
    const key = partKey(measurement, request);
    const fault = this.#faults.get(`${measurement}`) ?? this.#faults.get(key);
    if (fault) throw new Fault(fault);
    const list = this.#parts.get(key) ?? [];
    return [...list].sort((p, q) => p.column - q.column || p.row - q.row).map(({ part }) => part);
  }

  #addPiece(measurement: number, { column, row, packed, bytes }: BlockPiece): void {
    const { blocks, finalised } = this.#kinds.find(({ at }) => at === measurement)!;
    const key = `${column} ${row}`;
    if (finalised.has(key)) {
      this.hasLateBlock = true;
      return;
    }
    let block = blocks.get(key);
    if (!block) {
      block = { column, row, pieces: [], bytes: 0, merged: 0, away: false };
      blocks.set(key, block);
      const square = this.#squareOf(measurement, block);
      const others = this.#inSquare.get(square);
      if (others) others.add(block);
      else this.#inSquare.set(square, new Set([block]));
      // A point outside the extent of its header, in a square whose files are all read.
      if (this.#open.get(square) === 0) this.#stray.push([measurement, block]);
    }
    block.pieces.push(packed);
    block.bytes += bytes;
    if (!block.away && block.bytes > Math.max(this.#leastMerge, MERGE_FACTOR * block.merged))
      this.#send(measurement, block, true);
  }

  #spanDone(file: number): void {
    const left = this.#spansLeft.get(file)! - 1;
    if (left > 0) {
      this.#spansLeft.set(file, left);
      return;
    }
    this.#spansLeft.delete(file);
    const ranges = this.#ranges[file];
    if (ranges === null) this.#unboundedFiles--;
    const complete = ranges === null ? [] : this.#count(ranges, -1);
    // All open blocks are looked at when nothing keeps them open any more: after the last file, and after the last without an extent.
    if (this.#spansLeft.size === 0 || (ranges === null && this.#unboundedFiles === 0)) {
      for (const { at, blocks } of this.#kinds)
        for (const block of blocks.values()) this.#finaliseIfComplete(at, block);
    } else {
      for (const [at, square] of complete)
        for (const block of this.#inSquare.get(square) ?? []) this.#finaliseIfComplete(at, block);
      for (const [at, block] of this.#stray.splice(0)) this.#finaliseIfComplete(at, block);
    }
  }

  /** Adds to the number of files of every square in the ranges. @returns the squares that no file covers any more */
  #count(ranges: readonly Range[], by: number): [measurement: number, square: string][] {
    const complete: [number, string][] = [];
    for (const { at, west, south, east, north } of ranges) {
      for (let column = west >> this.#shift; column <= east >> this.#shift; column++) {
        for (let row = south >> this.#shift; row <= north >> this.#shift; row++) {
          const key = `${at} ${column} ${row}`;
          const files = (this.#open.get(key) ?? 0) + by;
          this.#open.set(key, files);
          if (files === 0) complete.push([at, key]);
        }
      }
    }
    return complete;
  }

  #squareOf(measurement: number, { column, row }: OpenBlock): string {
    return `${measurement} ${column >> this.#shift} ${row >> this.#shift}`;
  }

  /** Queues a block to be finalised if no file that is not read yet covers it. */
  #finaliseIfComplete(measurement: number, block: OpenBlock): void {
    if (block.away) return;
    this.looks++;
    const open = this.#open.get(this.#squareOf(measurement, block));
    // A block that no header covers waits until the last file: more points may lie there.
    const complete = this.#spansLeft.size === 0 || (!this.#finaliseAtEnd && this.#unboundedFiles === 0 && open === 0);
    if (complete) this.#send(measurement, block, false);
  }

  #send(measurement: number, block: OpenBlock, merge: boolean): void {
    const { column, row, pieces } = block;
    block.pieces = [];
    block.bytes = 0;
    block.away = true;
    if (!merge) {
      const { blocks, finalised } = this.#kinds.find(({ at }) => at === measurement)!;
      blocks.delete(`${column} ${row}`);
      this.#inSquare.get(this.#squareOf(measurement, block))?.delete(block);
      finalised.add(`${column} ${row}`);
    }
    this.#queue.push({ measurement, column, row, pieces, merge });
  }

  /** The blocks that a file covers, by its header; null where it may cover any block. */
  #rangesOf({ header, horizontalUnit }: DeliveredFile): Range[] | null {
    if (!header) return null;
    const ranges: Range[] = [];
    for (const { at, own } of this.#kinds) {
      const blocks = measurementById(own.id).blocks!;
      const edge = blocks.edge(own.params);
      const around = blocks.halo(own.params) + SLACK;
      const [west, south] = [0, 1].map((k) => Math.floor((header.min[k] * horizontalUnit - around) / edge));
      const [east, north] = [0, 1].map((k) => Math.floor((header.max[k] * horizontalUnit + around) / edge));
      const range = { at, west, south, east, north };
      const count = squaresOf(range, 0);
      const usable = [west, south, east, north].every((v) => Math.abs(v) < 2 ** 30);
      if (!usable || count < 0 || count > MOST_BLOCKS) return null;
      ranges.push(range);
    }
    return ranges;
  }
}

/** Columns and rows of the blocks of one measurement, both ends included. */
interface Range {
  at: number;
  west: number;
  south: number;
  east: number;
  north: number;
}

function squaresOf({ west, south, east, north }: Range, shift: number): number {
  return ((east >> shift) - (west >> shift) + 1) * ((north >> shift) - (south >> shift) + 1);
}

function partKey(measurement: number, request: FactRequest): string {
  return `${measurement} ${factKey(request)}`;
}

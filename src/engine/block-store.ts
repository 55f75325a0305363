import type { DeliveredFile } from '../delivery/delivery.js';
import { Fault, type FaultFacts } from '../fault.js';
import type { BlockPiece, FactRequest } from '../measure/contract/measurement.js';
import { measurementById } from '../measure/index.js';
import { factKey } from './facts.js';
import type { AssignedMeasurement, Assignment, BlockResult, BlockTask, SpanResult, SpanTask } from './job.js';
import { finaliseBlock } from './span-measurer.js';

/** Room left around the extent a header claims: headers are rounded, and a foot is not a whole number of quanta. */
const SLACK = 1;
/** A file that claims more areas than this holds all of them open until it is read: a stray point, or a lie. */
const MOST_AREAS = 10_000;
/** Files and areas are counted one by one up to so many pairs, then by squares of areas: 2,000 tiles of 1 km have 2 million. */
const MOST_COUNTED = 100_000;
/** Pieces of an area are put together when they have grown to so many bytes, and to so many times what they came to before. */
const LEAST_MERGE = 8 << 20;
const MERGE_FACTOR = 3;

interface OpenBlock {
  column: number;
  row: number;
  pieces: ArrayBuffer[];
  bytes: number;
  /** Bytes when the pieces were last one. */
  merged: number;
  /** In a worker's hands. */
  away: boolean;
}

/**
 * Areas of the states that are too large to be kept whole. An area is boiled down, and its moments are forgotten, as soon
 * as every file whose header says that it reaches there has been read: memory then grows with the planes that are kept,
 * not with the moments. Points may lie outside what their header claims: should one come for an area that is gone, `late`
 * tells that the run must be made again with `finaliseAtEnd`, which finalises blocks only after the last point.
 */
export class BlockStore {
  /** `gone`: areas that are boiled down. */
  readonly #kinds: { at: number; own: AssignedMeasurement; areas: Map<string, OpenBlock>; gone: Set<string> }[] = [];
  /** Files not read yet that reach a square of areas, by measurement and square. */
  readonly #open = new Map<string, number>();
  readonly #ranges: (Range[] | null)[];
  /** Areas are counted by squares of 2^shift. */
  #shift = 0;
  readonly #spansLeft = new Map<number, number>();
  readonly #parts = new Map<string, { column: number; row: number; part: unknown }[]>();
  readonly #queue: BlockTask[] = [];
  readonly #finaliseAtEnd: boolean;
  readonly #leastMerge: number;
  #unboundedFiles = 0;
  #underWay = 0;
  #fault: FaultFacts | null = null;
  /** A point came for an area that was already boiled down. */
  hasLateBlock = false;

  constructor(
    measurements: readonly AssignedMeasurement[],
    tasks: readonly SpanTask[],
    files: readonly DeliveredFile[],
    { finaliseAtEnd = false, leastMerge = LEAST_MERGE }: { finaliseAtEnd?: boolean; leastMerge?: number } = {},
  ) {
    this.#finaliseAtEnd = finaliseAtEnd;
    this.#leastMerge = leastMerge;
    measurements.forEach((own, at) => {
      if (measurementById(own.id).blocks) this.#kinds.push({ at, own, areas: new Map(), gone: new Set() });
    });
    for (const { file } of tasks) this.#spansLeft.set(file, (this.#spansLeft.get(file) ?? 0) + 1);
    this.#ranges = files.map((file) => (this.#spansLeft.has(file.index) ? this.#rangesOf(file) : []));
    const ranges = this.#ranges.flatMap((reach) => reach ?? []);
    const counted = () => ranges.reduce((sum, range) => sum + squaresOf(range, this.#shift), 0);
    // Every file counts once at the least, however large the squares.
    while (counted() > Math.max(MOST_COUNTED, 4 * ranges.length)) this.#shift++;
    for (const reach of this.#ranges) {
      if (reach === null) this.#unboundedFiles++;
      else this.#count(reach, 1);
    }
  }

  /** Whether something is to be done, or being done. */
  get busy(): boolean {
    return this.#queue.length > 0 || this.#underWay > 0;
  }

  /** Whether an area could not be worked out. */
  get failed(): boolean {
    return this.#fault !== null;
  }

  /** Takes the pieces of a result, and notes which files are through. */
  addPieces(result: SpanResult): void {
    for (const { measurement, piece } of result.blocks ?? []) this.#addPiece(measurement, piece);
    for (const { at, own } of this.#kinds) {
      // A state that comes whole, as from the cache, is cut here.
      const state = result.states[at];
      if (!state || state.byteLength === 0) continue;
      const kind = measurementById(own.id);
      const whole = kind.create(own.params);
      kind.merge(whole, state);
      for (const piece of kind.blocks!.cut(whole)) this.#addPiece(at, piece);
      kind.release?.(whole);
    }
    for (const { file } of result.tasks) this.#spanDone(file);
  }

  /** The next area to be seen to. */
  nextTask(): BlockTask | null {
    const task = this.#queue.shift() ?? null;
    if (task !== null) this.#underWay++;
    return task;
  }

  /** Takes what became of an area. */
  addResult({ measurement, column, row, parts, merged, fault }: BlockResult): void {
    this.#underWay--;
    if (fault !== null) {
      this.#noteFault(fault);
      return;
    }
    const kind = this.#kinds.find(({ at }) => at === measurement)!;
    if (merged !== null) {
      const area = kind.areas.get(`${column} ${row}`)!;
      area.away = false;
      area.pieces.push(merged);
      area.bytes += merged.byteLength;
      area.merged = area.bytes;
      this.#finaliseIfComplete(measurement, area);
      return;
    }
    (kind.own.collects ?? []).forEach((request, k) => {
      const key = partKey(measurement, request);
      const list = this.#parts.get(key) ?? [];
      list.push({ column, row, part: parts[k] });
      this.#parts.set(key, list);
    });
  }

  /** Notes that a block could not be finalised: nothing that rests on blocks is known then. */
  fail(fault: FaultFacts): void {
    this.#underWay--;
    this.#noteFault(fault);
  }

  /** Of several faults the first by its text is kept, whichever came first. */
  #noteFault(fault: FaultFacts): void {
    if (this.#fault === null || fault.what < this.#fault.what) this.#fault = fault;
  }

  /** Does what is to be done in this thread. */
  finaliseHere(assignment: Pick<Assignment, 'measurements'>): void {
    for (let task = this.nextTask(); task !== null; task = this.nextTask()) {
      this.addResult(finaliseBlock(assignment, task));
    }
  }

  /** What was kept of every area, sorted by column, then row. @throws Fault when an area could not be worked out */
  parts(measurement: number, request: FactRequest): unknown[] {
    if (this.#fault) throw new Fault(this.#fault);
    const list = this.#parts.get(partKey(measurement, request)) ?? [];
    return [...list].sort((p, q) => p.column - q.column || p.row - q.row).map(({ part }) => part);
  }

  #addPiece(measurement: number, { column, row, packed, bytes }: BlockPiece): void {
    const { areas, gone } = this.#kinds.find(({ at }) => at === measurement)!;
    const key = `${column} ${row}`;
    if (gone.has(key)) {
      this.hasLateBlock = true;
      return;
    }
    let area = areas.get(key);
    if (!area) {
      area = { column, row, pieces: [], bytes: 0, merged: 0, away: false };
      areas.set(key, area);
    }
    area.pieces.push(packed);
    area.bytes += bytes;
    if (!area.away && area.bytes > Math.max(this.#leastMerge, MERGE_FACTOR * area.merged))
      this.#send(measurement, area, true);
  }

  #spanDone(file: number): void {
    const left = this.#spansLeft.get(file)! - 1;
    if (left > 0) {
      this.#spansLeft.set(file, left);
      return;
    }
    this.#spansLeft.delete(file);
    const reach = this.#ranges[file];
    if (reach === null) this.#unboundedFiles--;
    else this.#count(reach, -1);
    for (const { at, areas } of this.#kinds) for (const area of areas.values()) this.#finaliseIfComplete(at, area);
  }

  #count(ranges: readonly Range[], by: number): void {
    for (const { at, west, south, east, north } of ranges) {
      for (let column = west >> this.#shift; column <= east >> this.#shift; column++) {
        for (let row = south >> this.#shift; row <= north >> this.#shift; row++) {
          const key = `${at} ${column} ${row}`;
          this.#open.set(key, (this.#open.get(key) ?? 0) + by);
        }
      }
    }
  }

  /** Sends an area to be boiled down if nothing can come for it any more. */
  #finaliseIfComplete(measurement: number, area: OpenBlock): void {
    if (area.away) return;
    const open = this.#open.get(`${measurement} ${area.column >> this.#shift} ${area.row >> this.#shift}`);
    // An area that no header speaks of waits to the end: whoever wrote there may do so again.
    const complete = this.#spansLeft.size === 0 || (!this.#finaliseAtEnd && this.#unboundedFiles === 0 && open === 0);
    if (complete) this.#send(measurement, area, false);
  }

  #send(measurement: number, area: OpenBlock, merge: boolean): void {
    const { column, row, pieces } = area;
    area.pieces = [];
    area.bytes = 0;
    area.away = true;
    if (!merge) {
      const { areas, gone } = this.#kinds.find(({ at }) => at === measurement)!;
      areas.delete(`${column} ${row}`);
      gone.add(`${column} ${row}`);
    }
    this.#queue.push({ measurement, column, row, pieces, merge });
  }

  /** The areas in which a file may have points, by its header; null: it may have them anywhere. */
  #rangesOf({ header, planUnit }: DeliveredFile): Range[] | null {
    if (!header) return null;
    const ranges: Range[] = [];
    for (const { at, own } of this.#kinds) {
      const areas = measurementById(own.id).blocks!;
      const edge = areas.edge(own.params);
      const around = areas.halo(own.params) + SLACK;
      const [west, south] = [0, 1].map((k) => Math.floor((header.min[k] * planUnit - around) / edge));
      const [east, north] = [0, 1].map((k) => Math.floor((header.max[k] * planUnit + around) / edge));
      const range = { at, west, south, east, north };
      const count = squaresOf(range, 0);
      const told = [west, south, east, north].every((v) => Math.abs(v) < 2 ** 30);
      if (!told || count < 0 || count > MOST_AREAS) return null;
      ranges.push(range);
    }
    return ranges;
  }
}

/** Columns and rows of areas of one measurement, ends included. */
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

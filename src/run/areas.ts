import type { DeliveredFile } from '../delivery/delivery.js';
import type { Fault } from '../fault.js';
import { measurementById } from '../measure/index.js';
import type { AreaPiece, FactAsk } from '../measure/measurement.js';
import { boilDown } from './measuring.js';
import { askKey } from './reduce.js';
import type { AreaResult, AreaTask, AssignedMeasurement, Assignment, Task, TaskResult } from './task.js';

/** Room left around the extent a header claims: headers are rounded, and a foot is not a whole number of quanta. */
const SLACK = 1;
/** A file that claims more areas than this holds all of them open until it is read: a stray point, or a lie. */
const MOST_AREAS = 10_000;
/** Pieces of an area are put together when they have grown to so many bytes, and to so many times what they came to before. */
const LEAST_MERGE = 8 << 20;
const MERGE_FACTOR = 3;

interface AreaState {
  column: number;
  row: number;
  pieces: ArrayBuffer[];
  bytes: number;
  /** Bytes when the pieces were last one. */
  merged: number;
  /** In a worker's hands. */
  away: boolean;
  done: boolean;
}

/**
 * Areas of the states that are too large to be kept whole. An area is boiled down, and its moments are forgotten, as soon
 * as every file whose header says that it reaches there has been read: memory then grows with the planes that are kept,
 * not with the moments. Points may lie outside what their header claims: should one come for an area that is gone, `late`
 * tells that the run must be made again with `patient`, which boils down at the end only.
 */
export class AreaStore {
  readonly #kinds: { at: number; own: AssignedMeasurement; areas: Map<string, AreaState> }[] = [];
  /** Files not read yet that reach an area, by measurement and area. */
  readonly #open = new Map<string, number>();
  readonly #reach: (string[] | null)[];
  readonly #spansLeft = new Map<number, number>();
  readonly #parts = new Map<string, { column: number; row: number; part: unknown }[]>();
  readonly #queue: AreaTask[] = [];
  readonly #patient: boolean;
  readonly #leastMerge: number;
  #wide = 0;
  #away = 0;
  #fault: Fault | null = null;
  /** A point came for an area that was already boiled down. */
  late = false;

  constructor(
    measurements: readonly AssignedMeasurement[],
    tasks: readonly Task[],
    files: readonly DeliveredFile[],
    { patient = false, leastMerge = LEAST_MERGE }: { patient?: boolean; leastMerge?: number } = {},
  ) {
    this.#patient = patient;
    this.#leastMerge = leastMerge;
    measurements.forEach((own, at) => {
      if (measurementById(own.id).areas) this.#kinds.push({ at, own, areas: new Map() });
    });
    for (const { file } of tasks) this.#spansLeft.set(file, (this.#spansLeft.get(file) ?? 0) + 1);
    this.#reach = files.map((file) => (this.#spansLeft.has(file.index) ? this.#reachOf(file) : []));
    for (const reach of this.#reach) {
      if (reach === null) this.#wide++;
      else for (const key of reach) this.#open.set(key, (this.#open.get(key) ?? 0) + 1);
    }
  }

  /** Whether something is to be done, or being done. */
  get busy(): boolean {
    return this.#queue.length > 0 || this.#away > 0;
  }

  /** Takes the pieces of a result, and notes which files are through. */
  add(result: TaskResult): void {
    for (const { measurement, piece } of result.areas ?? []) this.#take(measurement, piece);
    for (const { at, own } of this.#kinds) {
      // A state that comes whole, as from the cache, is cut here.
      const state = result.states[at];
      if (!state || state.byteLength === 0) continue;
      const kind = measurementById(own.id);
      const whole = kind.create(own.params);
      kind.absorb(whole, state);
      for (const piece of kind.areas!.cut(whole)) this.#take(at, piece);
      kind.release?.(whole);
    }
    for (const { file } of result.tasks) this.#oneLess(file);
  }

  /** The next area to be seen to. */
  next(): AreaTask | null {
    const task = this.#queue.shift() ?? null;
    if (task !== null) this.#away++;
    return task;
  }

  /** Takes what became of an area. */
  absorb({ measurement, column, row, parts, merged }: AreaResult): void {
    this.#away--;
    const kind = this.#kinds.find(({ at }) => at === measurement)!;
    const area = kind.areas.get(`${column} ${row}`)!;
    area.away = false;
    if (merged !== null) {
      area.pieces.push(merged);
      area.bytes += merged.byteLength;
      area.merged = area.bytes;
      this.#settle(measurement, area);
      return;
    }
    (kind.own.collects ?? []).forEach((ask, k) => {
      const key = partKey(measurement, ask);
      const list = this.#parts.get(key) ?? [];
      list.push({ column, row, part: parts[k] });
      this.#parts.set(key, list);
    });
  }

  /** Notes that an area could not be worked out: nothing that rests on areas can be told then. */
  fail(_task: AreaTask, fault: Fault): void {
    this.#away--;
    this.#fault ??= fault;
  }

  /** Does what is to be done in this thread. */
  boilDownHere(assignment: Pick<Assignment, 'measurements'>): void {
    for (let task = this.next(); task !== null; task = this.next()) this.absorb(boilDown(assignment, task));
  }

  /** What was kept of every area, sorted by column, then row. @throws Fault when an area could not be worked out */
  parts(measurement: number, ask: FactAsk): unknown[] {
    if (this.#fault) throw this.#fault;
    const list = this.#parts.get(partKey(measurement, ask)) ?? [];
    return [...list].sort((p, q) => p.column - q.column || p.row - q.row).map(({ part }) => part);
  }

  #take(measurement: number, { column, row, packed }: AreaPiece): void {
    const { areas } = this.#kinds.find(({ at }) => at === measurement)!;
    const key = `${column} ${row}`;
    let area = areas.get(key);
    if (!area) {
      area = { column, row, pieces: [], bytes: 0, merged: 0, away: false, done: false };
      areas.set(key, area);
    }
    if (area.done) {
      this.late = true;
      return;
    }
    area.pieces.push(packed);
    area.bytes += packed.byteLength;
    if (!area.away && area.bytes > Math.max(this.#leastMerge, MERGE_FACTOR * area.merged))
      this.#send(measurement, area, true);
  }

  #oneLess(file: number): void {
    const left = this.#spansLeft.get(file)! - 1;
    if (left > 0) {
      this.#spansLeft.set(file, left);
      return;
    }
    this.#spansLeft.delete(file);
    const reach = this.#reach[file];
    const settleAll = this.#spansLeft.size === 0 || (reach === null && this.#wide === 1);
    if (reach === null) this.#wide--;
    for (const key of reach ?? []) {
      this.#open.set(key, this.#open.get(key)! - 1);
      if (!settleAll) this.#settleKey(key);
    }
    if (!settleAll) return;
    for (const { at, areas } of this.#kinds) for (const area of areas.values()) this.#settle(at, area);
  }

  #settleKey(key: string): void {
    const [at, ...where] = key.split(' ');
    const area = this.#kinds.find((kind) => kind.at === Number(at))?.areas.get(where.join(' '));
    if (area) this.#settle(Number(at), area);
  }

  /** Sends an area to be boiled down if nothing can come for it any more. */
  #settle(measurement: number, area: AreaState): void {
    if (area.away || area.done) return;
    const open = this.#open.get(`${measurement} ${area.column} ${area.row}`);
    // An area that no header speaks of waits to the end: whoever wrote there may do so again.
    const complete = this.#spansLeft.size === 0 || (!this.#patient && this.#wide === 0 && open === 0);
    if (complete) this.#send(measurement, area, false);
  }

  #send(measurement: number, area: AreaState, merge: boolean): void {
    const { column, row, pieces } = area;
    area.pieces = [];
    area.bytes = 0;
    area.away = true;
    area.done = !merge;
    this.#queue.push({ measurement, column, row, pieces, merge });
  }

  /** Keys of the areas in which a file may have points, by its header; null: it may have them anywhere. */
  #reachOf({ header, planUnit }: DeliveredFile): string[] | null {
    if (!header) return null;
    const keys: string[] = [];
    for (const { at, own } of this.#kinds) {
      const areas = measurementById(own.id).areas!;
      const edge = areas.edge(own.params);
      const around = areas.reach(own.params) + SLACK;
      const [west, south] = [0, 1].map((k) => Math.floor((header.min[k] * planUnit - around) / edge));
      const [east, north] = [0, 1].map((k) => Math.floor((header.max[k] * planUnit + around) / edge));
      const count = (east - west + 1) * (north - south + 1);
      if (!(count >= 0 && count <= MOST_AREAS)) return null;
      for (let column = west; column <= east; column++) {
        for (let row = south; row <= north; row++) keys.push(`${at} ${column} ${row}`);
      }
    }
    return keys;
  }
}

function partKey(measurement: number, ask: FactAsk): string {
  return `${measurement} ${askKey(ask)}`;
}

import type { ChunkFacts } from '../cloud/chunk-guard.js';
import type { ChunkLog, Cloud } from '../cloud/cloud.js';
import { BLOCK_POINTS, type Column, type PointBatch } from '../cloud/columns.js';
import { openCloud } from '../cloud/open.js';
import { openSource } from '../cloud/source.js';
import { changedFault } from '../cloud/source-file.js';
import { Fault } from '../fault.js';
import type { AnyMeasurement, FactRequest, MeasuredBatch } from '../measure/contract/measurement.js';
import { blockDerivationById, measurementById } from '../measure/index.js';
import {
  type Assignment,
  type BlockPart,
  type BlockResult,
  type BlockTask,
  emptyBoxes,
  type MeasurementFailure,
  type SpanResult,
  type SpanTask,
} from './job.js';
import { createMeasuredBatch, scaleToWorld, threadColumns } from './scale-to-world.js';

/** Clouds a worker keeps open: spans of one file mostly come in a row. */
const OPEN_CLOUDS = 4;

function widen(boxes: Float64Array, index: number, box: Float64Array): void {
  const at = index * 6;
  for (let k = 0; k < 3; k++) {
    if (box[k] < boxes[at + k]) boxes[at + k] = box[k];
    if (box[k + 3] > boxes[at + k + 3]) boxes[at + k + 3] = box[k + 3];
  }
}

/** Merges the pieces of a block, or finalises it: computes the parts that the assignment asks for. */
export function finaliseBlock({ measurements }: Pick<Assignment, 'measurements'>, task: BlockTask): BlockResult {
  const { measurement, column, row, pieces } = task;
  const { id, params, collects = [] } = measurements[measurement];
  const kind = measurementById(id);
  const blocks = kind.blocks!;
  let parts: BlockPart[] = [];
  let merged: ArrayBuffer | null = null;
  try {
    if (task.merge) merged = mergePieces(kind, pieces, params);
    else {
      const opened = blocks.open({ column, row }, pieces, params);
      parts = collects.map((request) => collectPart(opened, request));
    }
  } catch (error) {
    const { facts } = Fault.from(error, `measurement ${id}`);
    return { measurement, column, row, parts: [], merged: null, fault: facts };
  }
  for (const piece of pieces) blocks.recycle?.(piece);
  return { measurement, column, row, parts, merged, fault: null };
}

/** An error in one derivation costs its own part of the block, and no other. */
function collectPart(opened: unknown, { measurement, params }: FactRequest): BlockPart {
  try {
    return { part: blockDerivationById(measurement).collect(opened, params), fault: null };
  } catch (error) {
    return { part: null, fault: Fault.from(error, `measurement ${measurement}`).facts };
  }
}

function mergePieces(kind: AnyMeasurement, pieces: readonly ArrayBuffer[], params: unknown): ArrayBuffer {
  const state = kind.create(params);
  for (const piece of pieces) kind.merge(state, piece);
  const merged = kind.pack(state);
  kind.release?.(state);
  return merged;
}

/** One reading of a group of spans. */
interface Attempt {
  kinds: readonly AnyMeasurement[];
  states: readonly unknown[];
  boxes: Float64Array;
  /** Measurements that failed: they take no more points. */
  failures: Map<number, MeasurementFailure>;
  /** Points were added that must not count: from here on the reading only looks for further faults. */
  mustRepeat: boolean;
}

/** Measures spans, one after the other, and finalises blocks: the work of a worker thread. */
export class SpanMeasurer {
  readonly #assignment: Assignment;
  readonly #columns: ReadonlySet<Column>;
  readonly #clouds = new Map<number, Cloud>();
  /** By file: first bytes of the chunks to leave out, with those that this worker found damaged. */
  readonly #without: Set<number>[];
  #batch: MeasuredBatch | null = null;
  #lent: ReturnType<typeof threadColumns.acquire> = null;

  constructor(assignment: Assignment) {
    this.#assignment = assignment;
    this.#columns = new Set(assignment.columns);
    this.#without = assignment.skippedChunks.map((begins) => new Set(begins));
  }

  /**
   * Measures some spans into one state for each measurement. What cannot be read is in the result and is not measured: a
   * damaged chunk, or else the whole span. The rest is then measured again without it, because points that were added
   * cannot be removed. Throws nothing for a fault of a file or an error in a measurement.
   */
  async measure(tasks: readonly SpanTask[]): Promise<SpanResult> {
    const { measurements, files } = this.#assignment;
    const kinds = measurements.map(({ id }) => measurementById(id));
    const faults: SpanResult['faults'] = [];
    const damaged: SpanResult['damaged'] = [];
    const chunks = new Map<SpanTask, ChunkFacts[]>();
    let sound = [...tasks];
    for (;;) {
      const states = measurements.map(({ params }, i) => kinds[i].create(params));
      const reading: Attempt = {
        kinds,
        states,
        boxes: emptyBoxes(tasks.length),
        failures: new Map(),
        mustRepeat: false,
      };
      const bad = new Set<SpanTask>();
      for (const task of sound) {
        const seen: ChunkFacts[] = [];
        const known = damaged.length;
        chunks.set(task, seen);
        const log: ChunkLog = {
          without: this.#without[task.file],
          decoded: (chunk) => seen.push(chunk),
          damaged: (chunk) => {
            damaged.push({ file: task.file, chunk });
            this.#without[task.file].add(chunk.begin);
            reading.mustRepeat = true;
          },
        };
        try {
          await this.#measureSpan(reading, task, tasks.indexOf(task), log);
        } catch (error) {
          reading.mustRepeat = true;
          // The points of a damaged chunk may be the only reason: then the span can be read without it.
          if (damaged.length > known) continue;
          bad.add(task);
          faults.push({ task, fault: Fault.from(error, `reading ${files[task.file].address}`).facts });
        }
      }
      if (!reading.mustRepeat) {
        return {
          tasks: [...tasks],
          ...this.#pack(reading, sound[0]),
          boxes: reading.boxes,
          faults,
          damaged,
          chunks: tasks.flatMap((task) => chunks.get(task)!.map((chunk) => ({ file: task.file, chunk }))),
        };
      }
      sound = sound.filter((task) => !bad.has(task));
    }
  }

  #pack(
    { kinds, states, failures }: Attempt,
    at: SpanTask | undefined,
  ): Pick<SpanResult, 'states' | 'blocks' | 'failures'> {
    const { cutBlocks } = this.#assignment;
    const pieces: SpanResult['blocks'] = [];
    const packed = states.map((state, m) => {
      const { blocks, pack, release } = kinds[m];
      const cuts = cutBlocks === true && blocks !== undefined;
      let whole = new ArrayBuffer(0);
      if (!failures.has(m)) {
        try {
          const cut = cuts ? blocks.cut(state) : [];
          if (!cuts) whole = pack(state);
          for (const piece of cut) pieces.push({ measurement: m, piece });
        } catch (error) {
          this.#noteFailure(failures, m, error, at);
        }
      }
      release?.(state);
      return whole;
    });
    return { states: packed, blocks: pieces, failures: [...failures.values()] };
  }

  #noteFailure(failures: Attempt['failures'], m: number, error: unknown, at: SpanTask | undefined): void {
    const { facts } = Fault.from(error, `measurement ${this.#assignment.measurements[m].id}`);
    failures.set(m, { measurement: m, file: at?.file ?? 0, first: at?.span.first ?? 0, fault: facts });
  }

  /** Merges the pieces of a block, or finalises it. */
  finaliseBlock(task: BlockTask): BlockResult {
    return finaliseBlock(this.#assignment, task);
  }

  /** Decodes each point of the span once and feeds every measurement. */
  async #measureSpan(reading: Attempt, task: SpanTask, index: number, log: ChunkLog): Promise<void> {
    const cloud = await this.#open(task.file);
    let points = 0;
    let refusal: unknown = null;
    await cloud.decode(
      task.span,
      this.#columns,
      (raw) => {
        points += raw.count;
        if (reading.mustRepeat) return;
        try {
          this.#add(reading, cloud, task, index, raw);
        } catch (error) {
          // Decoded to the end all the same: the chunk may be damaged, which only a comparison with the others can show.
          refusal = error;
          reading.mustRepeat = true;
        }
      },
      log,
    );
    if (refusal !== null) throw refusal;
    const passed = task.span.pieces.filter(({ begin }) => log.without.has(begin));
    const expected = task.span.points - passed.reduce((sum, piece) => sum + piece.points, 0);
    // Some points of a chunk that was just found damaged are counted here; the span is measured again without it.
    if (points === expected || reading.mustRepeat) return;
    throw new Fault({
      code: 'points-missing',
      where: cloud.source.name,
      what: 'fewer points were decoded than the file announces',
      found: points,
      expected,
      advice: 'Copy or export the file again',
    });
  }

  /** Feeds a batch to every measurement. An error in one of them ends that measurement, and no other. */
  #add(
    { kinds, states, boxes, failures }: Attempt,
    cloud: Cloud,
    task: SpanTask,
    index: number,
    raw: PointBatch,
  ): void {
    const { files, passes } = this.#assignment;
    const batch = this.#batchFor(raw);
    scaleToWorld(batch, raw, cloud.header, task.file, files[task.file], passes);
    for (let m = 0; m < kinds.length; m++) {
      if (failures.size > 0 && failures.has(m)) continue;
      try {
        kinds[m].add(states[m], batch);
      } catch (error) {
        this.#noteFailure(failures, m, error, task);
      }
    }
    widen(boxes, index, batch.box);
  }

  #batchFor(raw: PointBatch): MeasuredBatch {
    if (this.#batch && this.#batch.east.length >= raw.capacity) return this.#batch;
    if (raw.capacity <= BLOCK_POINTS) this.#lent ??= threadColumns.acquire();
    const fits = raw.capacity <= BLOCK_POINTS;
    this.#batch = createMeasuredBatch(raw, Math.max(raw.capacity, BLOCK_POINTS), fits ? this.#lent : null);
    return this.#batch;
  }

  async close(): Promise<void> {
    threadColumns.release(this.#lent);
    this.#lent = null;
    this.#batch = null;
    for (const cloud of this.#clouds.values()) await cloud.close();
    this.#clouds.clear();
  }

  async #open(file: number): Promise<Cloud> {
    const known = this.#clouds.get(file);
    if (known) return known;
    const { address, identity, timeoutMs } = this.#assignment.files[file];
    const cloud = await openCloud(await openSource(address, { timeoutMs }));
    if (identity !== undefined && cloud.source.identity !== identity) {
      await cloud.close();
      throw changedFault(cloud.source.name);
    }
    this.#clouds.set(file, cloud);
    if (this.#clouds.size > OPEN_CLOUDS) {
      const [oldest, stale] = this.#clouds.entries().next().value!;
      this.#clouds.delete(oldest);
      await stale.close();
    }
    return cloud;
  }
}

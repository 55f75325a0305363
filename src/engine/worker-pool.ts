import { availableParallelism } from 'node:os';
import { serialize } from 'node:v8';
import type { ResourceLimits } from 'node:worker_threads';
import type { Piscina } from 'piscina';
import { workerFile } from '../built.js';
import type { Assignment, BlockResult, BlockTask, SpanResult, SpanTask } from './job.js';

/** An assignment as it travels: written once into memory that all threads see, read once by each of them. */
export interface SharedAssignment {
  id: number;
  bytes: SharedArrayBuffer;
}

/** What a worker is told to do. */
export interface WorkerJob {
  assignment: SharedAssignment;
  work: SpanTask[] | BlockTask;
  /** Memory to be used again. */
  blocks: ArrayBuffer[];
}

/** What a worker gives back: its result, and memory that it can spare. */
export interface WorkerAnswer {
  result: SpanResult | BlockResult;
  blocks: ArrayBuffer[];
}

export function defaultWorkers(): number {
  return Math.max(1, availableParallelism());
}

/** Blocks that go with a job of measuring: about as many as it fills. */
const BLOCKS_A_JOB = 48;

let assignments = 0;

/**
 * The worker threads of a run. They are started once and serve every reading: starting one takes as long as measuring a
 * few million points.
 */
export class WorkerPool {
  readonly workers: number;
  #pool: Promise<Piscina> | null = null;
  /**
   * Memory on its way from a worker that can spare it to one that needs it: areas are not boiled down where their points
   * were measured, and would else pile up memory in one thread and make the other take fresh one.
   */
  readonly #blocks: ArrayBuffer[] = [];

  readonly #file: string | undefined;
  readonly #resourceLimits: ResourceLimits | undefined;

  /**
   * @param workers number of threads
   * @param file the worker's code, instead of the built one, and `resourceLimits`: of each thread; both for tests
   */
  constructor(workers: number, { file, resourceLimits }: { file?: string; resourceLimits?: ResourceLimits } = {}) {
    this.workers = workers;
    this.#file = file;
    this.#resourceLimits = resourceLimits;
  }

  /** Starts all threads now, so that they load while the main thread still reads spec and headers. */
  startAll(): void {
    if (this.workers <= 1) return;
    this.#pool ??= this.#start(this.workers);
    // Whoever runs a job gets the error.
    this.#pool.catch(() => {});
  }

  /** Makes an assignment known; jobs name it. */
  share(assignment: Assignment): SharedAssignment {
    const plain = serialize(assignment);
    const bytes = new SharedArrayBuffer(plain.byteLength);
    new Uint8Array(bytes).set(plain);
    return { id: ++assignments, bytes };
  }

  /** Buffers in `moved` are gone from this thread afterwards. */
  async run<Work extends SpanTask[] | BlockTask>(
    assignment: SharedAssignment,
    work: Work,
    signal?: AbortSignal,
    moved: ArrayBuffer[] = [],
  ): Promise<Work extends BlockTask ? BlockResult : SpanResult> {
    this.#pool ??= this.#start(1);
    const blocks = Array.isArray(work) ? this.#blocks.splice(-BLOCKS_A_JOB) : [];
    const job: WorkerJob = { assignment, work, blocks };
    const pool = await this.#pool;
    const done: WorkerAnswer = await pool.run(job, { signal, transferList: [...moved, ...blocks] });
    this.#blocks.push(...done.blocks);
    return done.result as Work extends BlockTask ? BlockResult : SpanResult;
  }

  /** Ends all threads. */
  async close(): Promise<void> {
    const pool = this.#pool;
    this.#pool = null;
    await (await pool)?.destroy();
    this.#blocks.length = 0;
  }

  /** Loaded when first needed: a run in one thread does without. */
  async #start(atOnce: number): Promise<Piscina> {
    const { Piscina } = await import('piscina');
    return new Piscina({
      filename: this.#file ?? workerFile(),
      resourceLimits: this.#resourceLimits,
      minThreads: atOnce,
      maxThreads: this.workers,
      idleTimeout: Number.POSITIVE_INFINITY,
      recordTiming: false,
    });
  }
}

/** Has a pool for as long as `use` takes. */
export async function withWorkerPool<T>(workers: number, use: (pool: WorkerPool) => Promise<T>): Promise<T> {
  const pool = new WorkerPool(workers);
  try {
    return await use(pool);
  } finally {
    await pool.close();
  }
}

/** Everything in this thread. */
export const IN_PROCESS = new WorkerPool(1);

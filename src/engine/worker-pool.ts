import { availableParallelism } from 'node:os';
import { serialize } from 'node:v8';
import type { ResourceLimits } from 'node:worker_threads';
import type { Piscina } from 'piscina';
import { workerFile } from '../built.js';
import type { Assignment, BlockResult, BlockTask, SpanResult, SpanTask } from './job.js';
import { takeShared } from './shared-data.js';

/** An assignment, written once to memory that all threads share; each thread reads it once. */
export interface SharedAssignment {
  id: number;
  bytes: SharedArrayBuffer;
  /** Arrays of the parameters that are in shared memory: they are not in `bytes`. */
  arrays: readonly unknown[];
}

/** A job for a worker. */
export interface WorkerJob {
  assignment: SharedAssignment;
  work: SpanTask[] | BlockTask;
  /** Buffers to be used again. */
  blocks: ArrayBuffer[];
}

/** The answer of a worker: its result, and buffers that it no longer needs. */
export interface WorkerAnswer {
  result: SpanResult | BlockResult;
  blocks: ArrayBuffer[];
}

/** Number of workers where none is given: as many as the computer has cores. */
export function defaultWorkers(): number {
  return Math.max(1, availableParallelism());
}

/** Buffers sent with a job that measures spans: about as many as it fills. */
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
   * Buffers that one worker no longer needs and another can use. Blocks are often finalised in another thread than their
   * points were measured in: without this one thread would collect free memory while the other allocates more.
   */
  readonly #blocks: ArrayBuffer[] = [];

  /** Rejects when a thread fails that has no job, because it cannot be started; jobs would then wait for ever. */
  readonly #broken: Promise<never>;
  #breakPool: (error: unknown) => void = () => {};

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
    this.#broken = new Promise((_, reject) => {
      this.#breakPool = reject;
    });
    this.#broken.catch(() => {});
  }

  /** Starts all threads now, so that they load while the main thread reads the spec and the headers. */
  startAll(): void {
    if (this.workers <= 1) return;
    this.#pool ??= this.#start(this.workers);
    // `run` throws the error.
    this.#pool.catch(() => {});
  }

  /** Writes an assignment to shared memory, for `run`. */
  share(assignment: Assignment): SharedAssignment {
    const arrays: unknown[] = [];
    const plain = serialize({ ...assignment, measurements: takeShared(assignment.measurements, arrays) });
    const bytes = new SharedArrayBuffer(plain.byteLength);
    new Uint8Array(bytes).set(plain);
    return { id: ++assignments, bytes, arrays };
  }

  /**
   * Runs a job in a worker thread.
   * @param moved buffers of `work` that are moved to the thread: they are empty in this thread afterwards
   * @throws what ended the worker, or the reason of the signal when it aborts
   */
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
    let done: WorkerAnswer;
    try {
      done = await Promise.race([pool.run(job, { signal, transferList: [...moved, ...blocks] }), this.#broken]);
    } catch (error) {
      // The library throws an error of its own for an aborted job.
      signal?.throwIfAborted();
      throw error;
    }
    for (const block of done.blocks) this.#blocks.push(block);
    return done.result as Work extends BlockTask ? BlockResult : SpanResult;
  }

  /** Ends all threads. */
  async close(): Promise<void> {
    const pool = this.#pool;
    this.#pool = null;
    await (await pool)?.destroy();
    this.#blocks.length = 0;
  }

  /** Loads the library only when it is needed: a run in one thread does not need it. */
  async #start(atOnce: number): Promise<Piscina> {
    const { Piscina } = await import('piscina');
    const pool = new Piscina({
      filename: this.#file ?? workerFile(),
      resourceLimits: this.#resourceLimits,
      minThreads: atOnce,
      maxThreads: this.workers,
      idleTimeout: Number.POSITIVE_INFINITY,
      recordTiming: false,
    });
    pool.on('error', (error) => this.#breakPool(error));
    return pool;
  }
}

/** Calls `use` with a pool, and ends its threads afterwards. */
export async function withWorkerPool<T>(workers: number, use: (pool: WorkerPool) => Promise<T>): Promise<T> {
  const pool = new WorkerPool(workers);
  try {
    return await use(pool);
  } finally {
    await pool.close();
  }
}

/** Runs everything in this thread. */
export const IN_PROCESS = new WorkerPool(1);

import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { serialize } from 'node:v8';
import { Piscina } from 'piscina';
import type { AreaResult, AreaTask, Assignment, Task, TaskResult } from './task.js';

/** An assignment as it travels: written once into memory that all threads see, read once by each of them. */
export interface SharedAssignment {
  id: number;
  bytes: SharedArrayBuffer;
}

/** What a worker is told to do. */
export interface Job {
  assignment: SharedAssignment;
  work: Task[] | AreaTask;
}

export function defaultWorkers(): number {
  return Math.max(1, availableParallelism());
}

let assignments = 0;

/**
 * The worker threads of a run. They are started once and serve every reading: starting one takes as long as measuring a
 * few million points.
 */
export class Crew {
  readonly workers: number;
  #pool: Piscina | null = null;

  constructor(workers: number) {
    this.workers = workers;
  }

  /** Starts all threads now, so that they load while the main thread still reads spec and headers. */
  warm(): void {
    if (this.workers > 1) this.#pool ??= this.#start(this.workers);
  }

  /** Makes an assignment known; jobs name it. */
  share(assignment: Assignment): SharedAssignment {
    const plain = serialize(assignment);
    const bytes = new SharedArrayBuffer(plain.byteLength);
    new Uint8Array(bytes).set(plain);
    return { id: ++assignments, bytes };
  }

  /** Buffers in `moved` are gone from this thread afterwards. */
  async run<Work extends Task[] | AreaTask>(
    assignment: SharedAssignment,
    work: Work,
    signal?: AbortSignal,
    moved: ArrayBuffer[] = [],
  ): Promise<Work extends AreaTask ? AreaResult : TaskResult> {
    this.#pool ??= this.#start(1);
    const job: Job = { assignment, work };
    return this.#pool.run(job, { signal, transferList: moved });
  }

  /** Ends all threads. */
  async dismiss(): Promise<void> {
    await this.#pool?.destroy();
    this.#pool = null;
  }

  #start(atOnce: number): Piscina {
    return new Piscina({
      filename: workerFile(),
      minThreads: atOnce,
      maxThreads: this.workers,
      idleTimeout: Number.POSITIVE_INFINITY,
      recordTiming: false,
    });
  }
}

/** Has a crew for as long as `use` takes. */
export async function withCrew<T>(workers: number, use: (crew: Crew) => Promise<T>): Promise<T> {
  const crew = new Crew(workers);
  try {
    return await use(crew);
  } finally {
    await crew.dismiss();
  }
}

/** Everything in this thread. */
export const ALONE = new Crew(1);

/** The compiled worker: beside this file, or in dist when this file runs uncompiled under the test runner. */
function workerFile(): string {
  const here = fileURLToPath(new URL('./worker.js', import.meta.url));
  return existsSync(here) ? here : fileURLToPath(new URL('../../dist/src/run/worker.js', import.meta.url));
}

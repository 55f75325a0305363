import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { Piscina } from 'piscina';
import { Fault } from '../fault.js';
import { Measuring } from './measuring.js';
import type { Assignment, Task, TaskResult } from './task.js';

export function defaultWorkers(): number {
  return Math.max(1, availableParallelism());
}

/**
 * Measures every task and hands each result to `sink` as it comes, in no particular order (measurements merge exactly, so
 * order cannot matter). At most two tasks a worker are under way, so that results never pile up. One worker means: in
 * this thread.
 */
export async function runTasks(
  tasks: readonly Task[],
  assignment: Assignment,
  workers: number,
  sink: (result: TaskResult) => void,
  signal?: AbortSignal,
): Promise<void> {
  if (workers <= 1 || tasks.length <= 1) return runHere(tasks, assignment, sink, signal);
  const pool = new Piscina({
    filename: workerFile(),
    workerData: assignment,
    minThreads: Math.min(workers, tasks.length),
    maxThreads: Math.min(workers, tasks.length),
    recordTiming: false,
  });
  try {
    let next = 0;
    const feed = async () => {
      while (next < tasks.length && !signal?.aborted) {
        const task = tasks[next++];
        sink(await runOne(pool, task, assignment, signal));
      }
    };
    await Promise.all(Array.from({ length: workers * 2 }, feed));
    signal?.throwIfAborted();
  } finally {
    await pool.destroy();
  }
}

/** A worker that dies (out of memory, say) costs its span, not the run. */
async function runOne(pool: Piscina, task: Task, assignment: Assignment, signal?: AbortSignal): Promise<TaskResult> {
  try {
    return await pool.run(task, { signal });
  } catch (error) {
    if (signal?.aborted) throw error;
    return { task, states: [], fault: Fault.from(error, assignment.files[task.file].address).facts };
  }
}

async function runHere(
  tasks: readonly Task[],
  assignment: Assignment,
  sink: (result: TaskResult) => void,
  signal?: AbortSignal,
): Promise<void> {
  const measuring = new Measuring(assignment);
  try {
    for (const task of tasks) {
      signal?.throwIfAborted();
      sink(await measuring.measure(task));
    }
  } finally {
    await measuring.close();
  }
}

/** The compiled worker: beside this file, or in dist when this file runs uncompiled under the test runner. */
function workerFile(): string {
  const here = fileURLToPath(new URL('./worker.js', import.meta.url));
  return existsSync(here) ? here : fileURLToPath(new URL('../../dist/src/run/worker.js', import.meta.url));
}

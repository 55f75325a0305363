import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { Piscina } from 'piscina';
import { Fault } from '../fault.js';
import { Measuring } from './measuring.js';
import { type Assignment, type Task, type TaskResult, unmeasured } from './task.js';

export function defaultWorkers(): number {
  return Math.max(1, availableParallelism());
}

/**
 * Measures every task and hands each result to `sink` as it comes, in no particular order (measurements merge exactly, so
 * order cannot matter). At most two tasks a worker are under way, so that results never pile up. One worker means: in
 * this thread. `filesApart` keeps spans of different files out of one group.
 */
export async function runTasks(
  tasks: readonly Task[],
  assignment: Assignment,
  workers: number,
  sink: (result: TaskResult) => void,
  signal?: AbortSignal,
  filesApart = false,
): Promise<void> {
  const groups = inGroups(tasks, workers, filesApart);
  if (workers <= 1 || tasks.length <= 1) return runHere(groups, assignment, sink, signal);
  const pool = new Piscina({
    filename: workerFile(),
    workerData: assignment,
    minThreads: Math.min(workers, groups.length),
    maxThreads: Math.min(workers, groups.length),
    recordTiming: false,
  });
  try {
    let next = 0;
    const feed = async () => {
      while (next < groups.length && !signal?.aborted) {
        const group = groups[next++];
        sink(await runOne(pool, group, assignment, signal));
      }
    };
    await Promise.all(Array.from({ length: workers * 2 }, feed));
    signal?.throwIfAborted();
  } finally {
    await pool.destroy();
  }
}

/** Spans handed to a worker at a time: more of them share one state and one merge, fewer keep all workers busy to the end. */
const MOST_IN_GROUP = 8;
const GROUPS_A_WORKER = 6;

function inGroups(tasks: readonly Task[], workers: number, filesApart: boolean): Task[][] {
  const size = Math.min(MOST_IN_GROUP, Math.max(1, Math.floor(tasks.length / (workers * GROUPS_A_WORKER))));
  const groups: Task[][] = [];
  for (const task of tasks) {
    const group = groups[groups.length - 1];
    const fits = group && group.length < size && !(filesApart && group[0].file !== task.file);
    if (fits) group.push(task);
    else groups.push([task]);
  }
  return groups;
}

/** A worker that dies (out of memory, say) costs the spans it had in hand, not the run. */
async function runOne(pool: Piscina, tasks: Task[], assignment: Assignment, signal?: AbortSignal): Promise<TaskResult> {
  try {
    return await pool.run(tasks, { signal });
  } catch (error) {
    if (signal?.aborted) throw error;
    const faults = tasks.map((task) => ({ task, fault: Fault.from(error, assignment.files[task.file].address).facts }));
    return unmeasured(tasks, faults);
  }
}

async function runHere(
  groups: readonly Task[][],
  assignment: Assignment,
  sink: (result: TaskResult) => void,
  signal?: AbortSignal,
): Promise<void> {
  const measuring = new Measuring(assignment);
  try {
    for (const group of groups) {
      signal?.throwIfAborted();
      sink(await measuring.measure(group));
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

import { Fault } from '../fault.js';
import type { BlockStore } from './block-store.js';
import { type Assignment, type BlockTask, type SpanResult, type SpanTask, unmeasuredResult } from './job.js';
import { Measuring } from './span-measurer.js';
import type { SharedAssignment, WorkerPool } from './worker-pool.js';

/**
 * Measures every task and hands each result to `sink` as it comes, in no particular order (measurements merge exactly, so
 * order cannot matter). At most two jobs a worker are under way, so that results never pile up. One worker means: in
 * this thread. `filesApart` keeps spans of different files out of one group. What `areas` has to do, now that more points
 * are in, goes first: it makes room.
 */
export async function runSpanTasks(
  tasks: readonly SpanTask[],
  assignment: Assignment,
  pool: WorkerPool,
  sink: (result: SpanResult) => void,
  signal?: AbortSignal,
  { filesApart = false, areas }: { filesApart?: boolean; areas?: BlockStore } = {},
): Promise<void> {
  const groups = inGroups(tasks, pool.workers, filesApart);
  if (pool.workers <= 1 || (tasks.length <= 1 && !areas?.busy)) return runHere(groups, assignment, sink, signal, areas);
  const shared = pool.share(assignment);
  let next = 0;
  const runGroup = async (group: SpanTask[]) => {
    for (const result of await runOne(pool, group, shared, assignment, signal)) sink(result);
  };
  const nextJob = () => {
    if (signal?.aborted) return null;
    const task = areas?.nextTask() ?? null;
    if (task !== null) return runArea(pool, task, shared, areas!, signal);
    return next < groups.length ? runGroup(groups[next++]) : null;
  };
  await runJobs(nextJob, pool.workers * 2);
  signal?.throwIfAborted();
}

/** Keeps so many jobs under way until there is none left. Every job that ends may bring new ones. */
function runJobs(nextJob: () => Promise<void> | null, most: number): Promise<void> {
  return new Promise((resolve, reject) => {
    let running = 0;
    const fill = () => {
      while (running < most) {
        const job = nextJob();
        if (job === null) break;
        running++;
        job
          .then(() => {
            running--;
            fill();
          })
          .catch(reject);
      }
      if (running === 0) resolve();
    };
    fill();
  });
}

/** A block that cannot be finalised affects the requirements that rest on it, not the run. */
async function runArea(
  pool: WorkerPool,
  task: BlockTask,
  assignment: SharedAssignment,
  areas: BlockStore,
  signal?: AbortSignal,
): Promise<void> {
  try {
    areas.addResult(await pool.run(assignment, task, signal, task.pieces));
  } catch (error) {
    if (signal?.aborted) throw error;
    areas.fail(Fault.from(error, 'a worker thread that compares passes').facts);
  }
}

/** Spans handed to a worker at a time: more of them share one state and one merge, fewer keep all workers busy to the end. */
const MOST_IN_GROUP = 2;
const GROUPS_A_WORKER = 6;

function inGroups(tasks: readonly SpanTask[], workers: number, filesApart: boolean): SpanTask[][] {
  const size = Math.min(MOST_IN_GROUP, Math.max(1, Math.floor(tasks.length / (workers * GROUPS_A_WORKER))));
  const groups: SpanTask[][] = [];
  for (const task of tasks) {
    const group = groups[groups.length - 1];
    const fits = group && group.length < size && !(filesApart && group[0].file !== task.file);
    if (fits) group.push(task);
    else groups.push([task]);
  }
  return groups;
}

/**
 * Runs a job. Where the worker dies the spans are run once more, one at a time, so that those beside the cause are measured;
 * a span with which a worker dies twice is not measured.
 */
async function runOne(
  pool: WorkerPool,
  tasks: SpanTask[],
  shared: SharedAssignment,
  { files }: Assignment,
  signal?: AbortSignal,
): Promise<SpanResult[]> {
  try {
    return [await pool.run(shared, tasks, signal)];
  } catch {
    signal?.throwIfAborted();
  }
  const results: SpanResult[] = [];
  for (const task of tasks) {
    try {
      results.push(await pool.run(shared, [task], signal));
    } catch (error) {
      if (signal?.aborted) throw error;
      results.push(lostResult([task], error, files));
    }
  }
  return results;
}

/** What is known of spans with which a worker died. */
function lostResult(tasks: SpanTask[], error: unknown, files: Assignment['files']): SpanResult {
  const faults = tasks.map((task) => ({
    task,
    fault: Fault.from(error, `a worker thread that reads ${files[task.file].address}`).facts,
  }));
  return unmeasuredResult(tasks, faults);
}

async function runHere(
  groups: readonly SpanTask[][],
  assignment: Assignment,
  sink: (result: SpanResult) => void,
  signal?: AbortSignal,
  areas?: BlockStore,
): Promise<void> {
  const measuring = new Measuring(assignment);
  try {
    for (const group of groups) {
      signal?.throwIfAborted();
      sink(await measuring.measure(group));
      areas?.finaliseHere(assignment);
    }
    areas?.finaliseHere(assignment);
  } finally {
    await measuring.close();
  }
}

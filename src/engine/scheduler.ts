import { setMaxListeners } from 'node:events';
import { Fault } from '../fault.js';
import type { BlockStore } from './block-store.js';
import { type Assignment, type BlockTask, type SpanResult, type SpanTask, unmeasuredResult } from './job.js';
import { SpanMeasurer } from './span-measurer.js';
import type { SharedAssignment, WorkerPool } from './worker-pool.js';

/**
 * Measures every task and passes each result to `onResult` in the order in which workers finish; measurements merge
 * exactly, so the order does not matter. At most two jobs for each worker run at a time, so that results do not collect in
 * memory. A pool of one worker means: in this thread. Waiting blocks are finalised before further spans are read, because
 * that frees memory.
 * @param filesApart no group holds spans of two files
 * @throws the reason of the signal when it aborts
 */
export async function runSpanTasks(
  tasks: readonly SpanTask[],
  assignment: Assignment,
  pool: WorkerPool,
  onResult: (result: SpanResult) => void,
  signal?: AbortSignal,
  { filesApart = false, blocks }: { filesApart?: boolean; blocks?: BlockStore } = {},
): Promise<void> {
  const groups = inGroups(tasks, pool.workers, filesApart);
  if (pool.workers <= 1 || (tasks.length <= 1 && !blocks?.busy))
    return runHere(groups, assignment, onResult, signal, blocks);
  // Every job under way listens to the signal.
  if (signal) setMaxListeners(0, signal);
  const shared = pool.share(assignment);
  let next = 0;
  const runGroup = async (group: SpanTask[]) => {
    for (const result of await runOne(pool, group, shared, assignment, signal)) onResult(result);
  };
  const nextJob = () => {
    if (signal?.aborted) return null;
    const task = blocks?.nextTask() ?? null;
    if (task !== null) return runBlock(pool, task, shared, blocks!, signal);
    return next < groups.length ? runGroup(groups[next++]) : null;
  };
  await runJobs(nextJob, pool.workers * 2);
  signal?.throwIfAborted();
}

/** Runs up to `most` jobs at a time until `nextJob` has none left. A job that ends may make new ones possible. */
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
async function runBlock(
  pool: WorkerPool,
  task: BlockTask,
  assignment: SharedAssignment,
  blocks: BlockStore,
  signal?: AbortSignal,
): Promise<void> {
  try {
    blocks.addResult(await pool.run(assignment, task, signal, task.pieces));
  } catch (error) {
    if (signal?.aborted) throw error;
    blocks.fail(task, Fault.from(error, 'a worker thread that compares passes').facts);
  }
}

/** Spans in one job. More of them share one state and one merge; fewer keep all workers busy until the end. */
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
  onResult: (result: SpanResult) => void,
  signal?: AbortSignal,
  blocks?: BlockStore,
): Promise<void> {
  const measurer = new SpanMeasurer(assignment);
  try {
    for (const group of groups) {
      signal?.throwIfAborted();
      onResult(await measurer.measure(group));
      blocks?.finaliseHere(assignment);
    }
    blocks?.finaliseHere(assignment);
  } finally {
    await measurer.close();
  }
}

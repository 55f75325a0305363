import { Fault } from '../fault.js';
import type { AreaStore } from './areas.js';
import type { Crew, SharedAssignment } from './crew.js';
import { Measuring } from './measuring.js';
import { type AreaTask, type Assignment, type Task, type TaskResult, unmeasured } from './task.js';

/**
 * Measures every task and hands each result to `sink` as it comes, in no particular order (measurements merge exactly, so
 * order cannot matter). At most two jobs a worker are under way, so that results never pile up. One worker means: in
 * this thread. `filesApart` keeps spans of different files out of one group. What `areas` has to do, now that more points
 * are in, goes first: it makes room.
 */
export async function runTasks(
  tasks: readonly Task[],
  assignment: Assignment,
  crew: Crew,
  sink: (result: TaskResult) => void,
  signal?: AbortSignal,
  { filesApart = false, areas }: { filesApart?: boolean; areas?: AreaStore } = {},
): Promise<void> {
  const groups = inGroups(tasks, crew.workers, filesApart);
  if (crew.workers <= 1 || (tasks.length <= 1 && !areas?.busy)) return runHere(groups, assignment, sink, signal, areas);
  const shared = crew.share(assignment);
  let next = 0;
  const nextJob = () => {
    if (signal?.aborted) return null;
    const task = areas?.next() ?? null;
    if (task !== null) return runArea(crew, task, shared, areas!, signal);
    return next < groups.length ? runOne(crew, groups[next++], shared, assignment, signal).then(sink) : null;
  };
  await runJobs(nextJob, crew.workers * 2);
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

/** An area that cannot be worked out costs the requirements that rest on it, not the run. */
async function runArea(
  crew: Crew,
  task: AreaTask,
  assignment: SharedAssignment,
  areas: AreaStore,
  signal?: AbortSignal,
): Promise<void> {
  try {
    areas.absorb(await crew.run(assignment, task, signal, task.pieces));
  } catch (error) {
    if (signal?.aborted) throw error;
    areas.fail(error);
  }
}

/** Spans handed to a worker at a time: more of them share one state and one merge, fewer keep all workers busy to the end. */
const MOST_IN_GROUP = 2;
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
async function runOne(
  crew: Crew,
  tasks: Task[],
  shared: SharedAssignment,
  { files }: Assignment,
  signal?: AbortSignal,
): Promise<TaskResult> {
  try {
    return await crew.run(shared, tasks, signal);
  } catch (error) {
    if (signal?.aborted) throw error;
    const faults = tasks.map((task) => ({ task, fault: Fault.from(error, files[task.file].address).facts }));
    return unmeasured(tasks, faults);
  }
}

async function runHere(
  groups: readonly Task[][],
  assignment: Assignment,
  sink: (result: TaskResult) => void,
  signal?: AbortSignal,
  areas?: AreaStore,
): Promise<void> {
  const measuring = new Measuring(assignment);
  try {
    for (const group of groups) {
      signal?.throwIfAborted();
      sink(await measuring.measure(group));
      areas?.boilDownHere(assignment);
    }
    areas?.boilDownHere(assignment);
  } finally {
    await measuring.close();
  }
}

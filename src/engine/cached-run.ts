import type { FactRequest } from '../measure/contract/measurement.js';
import type { BlockStore } from './block-store.js';
import { Facts } from './facts.js';
import { type Assignment, type SpanResult, type SpanTask, unmeasuredResult } from './job.js';
import type { MeasureCache } from './measure-cache.js';
import { runSpanTasks } from './scheduler.js';
import type { WorkerPool } from './worker-pool.js';

/** Files that are looked up in the cache at the same time. */
const FILES_AT_ONCE = 4;

/**
 * Runs the tasks as `runSpanTasks` does, but takes the states of whole files from the cache where it has them, and writes
 * the states of the other files to the cache.
 * @param isSound whether a file, all of whose spans were measured, has no damaged chunk; other files are not cached
 */
export async function runCached(
  tasks: readonly SpanTask[],
  assignment: Assignment,
  requests: readonly FactRequest[],
  pool: WorkerPool,
  cache: MeasureCache,
  onResult: (result: SpanResult) => void,
  isSound: (file: number) => boolean,
  { signal, blocks }: { signal?: AbortSignal; blocks?: BlockStore } = {},
): Promise<void> {
  const byFile = groupByFile(tasks);
  const keys = new Map<number, string | null>();
  const unknown: SpanTask[] = [];
  const files = [...byFile.keys()];
  let next = 0;
  const look = async () => {
    while (next < files.length) {
      signal?.throwIfAborted();
      const file = files[next++];
      const own = byFile.get(file)!;
      const key = await cache.keyOf(file);
      const kept = key === null || assignment.skippedChunks[file].length > 0 ? null : await cache.read(key);
      keys.set(file, key);
      const boxes = new Float64Array(kept?.[kept.length - 1] ?? new ArrayBuffer(0));
      // An entry that was made with other spans has other boxes.
      if (kept && boxes.length === own.length * 6)
        onResult({ ...unmeasuredResult(own, []), states: kept.slice(0, -1), boxes });
      else for (const task of own) unknown.push(task);
    }
  };
  await Promise.all(Array.from({ length: Math.min(FILES_AT_ONCE, files.length) }, look));
  unknown.sort((a, b) => a.file - b.file || a.span.first - b.span.first);
  const open = new Map<number, OpenFile>();
  const writes: Promise<void>[] = [];
  await runSpanTasks(
    unknown,
    assignment,
    pool,
    (result) => {
      onResult(result);
      const file = result.tasks[0].file;
      let state = open.get(file);
      if (!state) {
        const spans = byFile.get(file)!.length;
        state = { facts: new Facts(requests), boxes: new Float64Array(spans * 6), left: spans, sound: true };
        open.set(file, state);
      }
      for (let i = 0; i < result.tasks.length; i++) {
        // The tasks of a result are copies, because they were sent between threads.
        const at = byFile.get(file)!.findIndex(({ span }) => span.first === result.tasks[i].span.first);
        state.boxes.set(result.boxes.subarray(i * 6, i * 6 + 6), at * 6);
      }
      state.facts.addResult(result);
      state.left -= result.tasks.length;
      if (result.faults.length > 0 || result.failures.length > 0) state.sound = false;
      if (state.left > 0) return;
      open.delete(file);
      const key = keys.get(file) ?? null;
      if (key !== null && state.sound && isSound(file))
        writes.push(cache.write(key, [...state.facts.pack(), state.boxes.buffer as ArrayBuffer]));
    },
    signal,
    { filesApart: true, blocks },
  );
  await Promise.all(writes);
}

/** A file of which some spans are measured and others are not yet. */
interface OpenFile {
  facts: Facts;
  boxes: Float64Array;
  left: number;
  sound: boolean;
}

function groupByFile(tasks: readonly SpanTask[]): Map<number, SpanTask[]> {
  const groups = new Map<number, SpanTask[]>();
  for (const task of tasks) {
    const group = groups.get(task.file);
    if (group) group.push(task);
    else groups.set(task.file, [task]);
  }
  return groups;
}

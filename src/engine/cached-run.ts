import type { FactRequest } from '../measure/contract/measurement.js';
import type { BlockStore } from './block-store.js';
import { Facts } from './facts.js';
import { type Assignment, type SpanResult, type SpanTask, unmeasuredResult } from './job.js';
import type { MeasureCache } from './measure-cache.js';
import { runSpanTasks } from './scheduler.js';
import type { WorkerPool } from './worker-pool.js';

/** Files whose content is compared with the cache at a time. */
const FILES_AT_ONCE = 4;

/**
 * Runs the tasks as `runTasks` does, but takes whole files from the cache where it knows them and keeps those it had to
 * measure. Files are merged one by one before they are handed on, so that each can be kept.
 * @param isSound whether all chunks of a file that was handed on whole are right: others are not kept
 */
export async function runCached(
  tasks: readonly SpanTask[],
  assignment: Assignment,
  requests: readonly FactRequest[],
  pool: WorkerPool,
  cache: MeasureCache,
  sink: (result: SpanResult) => void,
  isSound: (file: number) => boolean,
  { signal, areas }: { signal?: AbortSignal; areas?: BlockStore } = {},
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
      // An entry made of other spans would tell the wrong boxes.
      if (kept && boxes.length === own.length * 6)
        sink({ ...unmeasuredResult(own, []), states: kept.slice(0, -1), boxes });
      else unknown.push(...own);
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
      sink(result);
      const file = result.tasks[0].file;
      let state = open.get(file);
      if (!state) {
        const spans = byFile.get(file)!.length;
        state = { facts: new Facts(requests), boxes: new Float64Array(spans * 6), left: spans, sound: true };
        open.set(file, state);
      }
      for (let i = 0; i < result.tasks.length; i++) {
        // Spans come back from threads as copies.
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
    { filesApart: true, areas },
  );
  await Promise.all(writes);
}

/** A file of which some spans are measured and some are not. */
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

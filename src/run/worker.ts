import { move, transferableSymbol, valueSymbol, workerData } from 'piscina';
import { Measuring } from './measuring.js';
import type { AreaResult, AreaTask, Assignment, Task, TaskResult } from './task.js';

const measuring = new Measuring(workerData as Assignment);

/** Entry point of a worker thread: measures some spans, or boils an area down; what it gives is moved, never copied. */
export default async function work(job: Task[] | AreaTask): Promise<TaskResult | AreaResult> {
  const result = Array.isArray(job) ? await measuring.measure(job) : measuring.boilDown(job);
  return move({
    get [transferableSymbol]() {
      return buffersOf(result);
    },
    get [valueSymbol]() {
      return result;
    },
  } as never) as unknown as TaskResult | AreaResult;
}

/** Every buffer in plain data. */
function buffersOf(value: unknown, found = new Set<ArrayBuffer>()): ArrayBuffer[] {
  if (value instanceof ArrayBuffer) found.add(value);
  else if (ArrayBuffer.isView(value)) found.add(value.buffer as ArrayBuffer);
  else if (value !== null && typeof value === 'object') for (const part of Object.values(value)) buffersOf(part, found);
  return [...found];
}

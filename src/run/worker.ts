import { move, transferableSymbol, valueSymbol, workerData } from 'piscina';
import { Measuring } from './measuring.js';
import type { Assignment, Task, TaskResult } from './task.js';

const measuring = new Measuring(workerData as Assignment);

/** Entry point of a worker thread: measures some spans; packed states are moved, never copied. */
export default async function work(tasks: Task[]): Promise<TaskResult> {
  const result = await measuring.measure(tasks);
  return move({
    get [transferableSymbol]() {
      return result.states;
    },
    get [valueSymbol]() {
      return result;
    },
  } as never) as unknown as TaskResult;
}

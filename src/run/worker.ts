import { deserialize } from 'node:v8';
import { move, transferableSymbol, valueSymbol } from 'piscina';
import type { Job } from './crew.js';
import { Measuring } from './measuring.js';
import type { AreaResult, Assignment, TaskResult } from './task.js';

let current: { id: number; measuring: Measuring } | null = null;

/** Entry point of a worker thread: measures some spans, or boils an area down; what it gives is moved, never copied. */
export default async function work({ assignment, work }: Job): Promise<TaskResult | AreaResult> {
  if (current?.id !== assignment.id) {
    await current?.measuring.close();
    // Copied first: what is shared cannot be read as text.
    const known = deserialize(Uint8Array.from(new Uint8Array(assignment.bytes))) as Assignment;
    current = { id: assignment.id, measuring: new Measuring(known) };
  }
  const { measuring } = current;
  const result = Array.isArray(work) ? await measuring.measure(work) : measuring.boilDown(work);
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

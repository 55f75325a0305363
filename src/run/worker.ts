import { deserialize } from 'node:v8';
import { move, transferableSymbol, valueSymbol } from 'piscina';
import { blocksToSpare, giveBlock } from '../measure/spare-blocks.js';
import type { Done, Job } from './crew.js';
import { Measuring } from './measuring.js';
import type { Assignment } from './task.js';

let current: { id: number; measuring: Measuring } | null = null;

/** Entry point of a worker thread: measures some spans, or boils an area down; what it gives is moved, never copied. */
export default async function work({ assignment, work, blocks }: Job): Promise<Done> {
  if (current?.id !== assignment.id) {
    await current?.measuring.close();
    // Copied first: what is shared cannot be read as text.
    const known = deserialize(Uint8Array.from(new Uint8Array(assignment.bytes))) as Assignment;
    current = { id: assignment.id, measuring: new Measuring(known) };
  }
  const { measuring } = current;
  for (const block of blocks) giveBlock(block);
  const result = Array.isArray(work) ? await measuring.measure(work) : measuring.boilDown(work);
  const done: Done = { result, blocks: blocksToSpare() };
  return move({
    get [transferableSymbol]() {
      return buffersOf(done);
    },
    get [valueSymbol]() {
      return done;
    },
  } as never) as unknown as Done;
}

/** Every buffer in plain data. */
function buffersOf(value: unknown, found = new Set<ArrayBuffer>()): ArrayBuffer[] {
  if (value instanceof ArrayBuffer) found.add(value);
  else if (ArrayBuffer.isView(value)) found.add(value.buffer as ArrayBuffer);
  else if (value !== null && typeof value === 'object') for (const part of Object.values(value)) buffersOf(part, found);
  return [...found];
}

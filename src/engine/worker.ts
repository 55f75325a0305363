import { deserialize } from 'node:v8';
import { move, transferableSymbol, valueSymbol } from 'piscina';
import { giveBuffer, spareBuffers } from '../measure/planes/spare-blocks.js';
import type { Assignment } from './job.js';
import { putShared } from './shared-data.js';
import { SpanMeasurer } from './span-measurer.js';
import type { WorkerAnswer, WorkerJob } from './worker-pool.js';

let current: { id: number; measurer: SpanMeasurer } | null = null;

/** Entry point of a worker thread: measures some spans, or merges or finalises a block. Results are moved, not copied. */
export default async function work({ assignment, work, blocks }: WorkerJob): Promise<WorkerAnswer> {
  if (current?.id !== assignment.id) {
    await current?.measurer.close();
    // Copied first, because `deserialize` cannot read text from shared memory.
    const known = deserialize(Uint8Array.from(new Uint8Array(assignment.bytes))) as Assignment;
    putShared(known.measurements, assignment.arrays);
    current = { id: assignment.id, measurer: new SpanMeasurer(known) };
  }
  const { measurer } = current;
  for (const block of blocks) giveBuffer(block);
  const result = Array.isArray(work) ? await measurer.measure(work) : measurer.finaliseBlock(work);
  const done: WorkerAnswer = { result, blocks: spareBuffers() };
  return move({
    get [transferableSymbol]() {
      return buffersOf(done);
    },
    get [valueSymbol]() {
      return done;
    },
  } as never) as unknown as WorkerAnswer;
}

/** Every buffer in plain data. */
function buffersOf(value: unknown, found = new Set<ArrayBuffer>()): ArrayBuffer[] {
  if (value instanceof ArrayBuffer) found.add(value);
  else if (ArrayBuffer.isView(value)) found.add(value.buffer as ArrayBuffer);
  else if (value !== null && typeof value === 'object') for (const part of Object.values(value)) buffersOf(part, found);
  return [...found];
}

/** Bytes of a buffer: a head of 16 bytes, and room for 2,040 records of 64 bytes, or 1,360 of 96. */
const BUFFER_BYTES = 16 + 130_560;

/**
 * Buffers of this thread that are free to be used again: new memory costs more time than all the sums in it. Over all
 * threads as many are received as are sent, but one thread may receive more than it sends.
 */
const spare: ArrayBuffer[] = [];
const MOST_SPARE = 1024;
/** Buffers that a thread keeps for its next job when it gives away the others. */
const KEPT = 48;

/** A buffer of the common size, a used one where there is one. Its bytes are not cleared. */
export function takeBuffer(): ArrayBuffer {
  return spare.pop() ?? new ArrayBuffer(BUFFER_BYTES);
}

/** Takes back a buffer that is no longer read. Buffers of another size are left to garbage collection. */
export function giveBuffer(buffer: ArrayBuffer): void {
  if (buffer.byteLength === BUFFER_BYTES && spare.length < MOST_SPARE) spare.push(buffer);
}

/** Buffers that this thread gives away to other threads. */
export function spareBuffers(): ArrayBuffer[] {
  return spare.splice(KEPT);
}

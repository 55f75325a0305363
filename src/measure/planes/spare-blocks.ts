/** Bytes of a block: a head of 16 bytes, and room for 2,040 records of 64 bytes, or 1,360 of 96. */
export const BUFFER_BYTES = 16 + 130_560;

/**
 * Blocks that have been used up, of this thread: fresh memory costs more than all the sums in it, and as many come in as
 * go out, though not everywhere.
 */
const spare: ArrayBuffer[] = [];
const MOST_SPARE = 1024;
/** What a thread keeps when it gives away what it can spare: as much as its next job will need. */
const KEPT = 48;

/** A block; what it held before is still there. */
export function takeBuffer(): ArrayBuffer {
  return spare.pop() ?? new ArrayBuffer(BUFFER_BYTES);
}

/** Gives back a block that nobody will look at again. Anything else is left to the collector. */
export function giveBuffer(buffer: ArrayBuffer): void {
  if (buffer.byteLength === BUFFER_BYTES && spare.length < MOST_SPARE) spare.push(buffer);
}

/** Blocks that this thread can spare: they are no longer its own. */
export function spareBuffers(): ArrayBuffer[] {
  return spare.splice(KEPT);
}

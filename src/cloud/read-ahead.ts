import type { Source } from './source.js';

/** Bytes begin to end (exclusive) of a source. */
export interface Range {
  begin: number;
  end: number;
}

/** Buffers kept for the next caller in this thread, so that spans do not each allocate their own. */
const spare: Uint8Array[] = [];
const SPARE_MAX = 4;
/** Buffers larger than this are not kept. */
const SPARE_BYTES_MAX = 16 << 20;

function take(bytes: number): Uint8Array {
  const at = spare.findIndex((b) => b.byteLength >= bytes);
  return at >= 0 ? spare.splice(at, 1)[0] : new Uint8Array(Math.max(bytes, 1 << 20));
}

function giveBack(buffer: Uint8Array): void {
  if (spare.length < SPARE_MAX && buffer.byteLength <= SPARE_BYTES_MAX) spare.push(buffer);
}

/**
 * Reads ranges one after the other into two buffers in turn, so that the next one is under way while `consume` works on
 * the last. `consume` must not keep the bytes.
 */
export async function readAhead(
  source: Source,
  ranges: readonly Range[],
  consume: (bytes: Uint8Array, i: number) => void | Promise<void>,
): Promise<void> {
  if (ranges.length === 0) return;
  let largest = 0;
  for (const r of ranges) largest = Math.max(largest, r.end - r.begin);
  const buffers = ranges.length > 1 ? [take(largest), take(largest)] : [take(largest)];
  const start = (i: number) => source.read(ranges[i].begin, ranges[i].end, buffers[i & 1]);
  let next: Promise<Uint8Array> | null = start(0);
  try {
    for (let i = 0; i < ranges.length; i++) {
      const bytes = await (next as Promise<Uint8Array>);
      next = null;
      if (i + 1 < ranges.length) {
        next = start(i + 1);
        // Awaited on the next turn; until then a failure must not count as unhandled.
        next.catch(() => {});
      }
      await consume(bytes, i);
    }
  } finally {
    await next?.catch(() => {});
    for (const buffer of buffers) giveBack(buffer);
  }
}

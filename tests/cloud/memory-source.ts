import type { Source } from '../../src/cloud/source.js';
import { Fault } from '../../src/fault.js';

/** Bytes in memory as a source. Refuses ranges outside, as every source must. Counts what is read. */
export class MemorySource implements Source {
  readonly address = 'memory';
  readonly identity = 'memory';
  readonly size: number;
  bytesRead = 0;
  closed = false;

  constructor(
    private readonly bytes: Uint8Array,
    readonly name = 'memory.las',
  ) {
    this.size = bytes.length;
  }

  async read(begin: number, end: number, into?: Uint8Array): Promise<Uint8Array> {
    if (!(begin >= 0 && begin <= end && end <= this.size)) {
      throw new Fault({
        code: 'file-truncated',
        what: 'outside',
        where: this.name,
        found: this.size,
        expected: `${begin}-${end}`,
      });
    }
    this.bytesRead += end - begin;
    const slice = this.bytes.subarray(begin, end);
    if (!into || into.length < slice.length) return slice.slice();
    into.set(slice);
    return into.subarray(0, slice.length);
  }

  async close(): Promise<void> {
    this.closed = true;
  }
}

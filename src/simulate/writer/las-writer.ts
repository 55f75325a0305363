import { closeSync, openSync, writeSync } from 'node:fs';
import type { LasLayout, LasOptions } from './las-header.js';
import { encodeEvlrs, encodeHead, planLas } from './las-header.js';
import type { PointColumns } from './point-columns.js';
import type { PointTally } from './point-record.js';
import { createTally, encodeRecords } from './point-record.js';

/**
 * A whole LAS file as bytes. Sound unless asked to lie: bounds and counts are those of the points as quantised, legacy
 * counts and the WKT bit are set as LAS 1.4 R15 asks, the date is fixed so that equal points give equal bytes.
 * @throws Error when the options contradict the standard; RangeError when a coordinate does not fit.
 */
export function writeLas(options: LasOptions & { points: PointColumns }): Uint8Array {
  const { points } = options;
  const layout = planLas(options);
  const tally = createTally();
  const pointBytes = points.count * layout.recordLength;
  const evlrs = encodeEvlrs(options.evlrs ?? []);
  const bytes = new Uint8Array(layout.offsetToPoints + pointBytes + evlrs.length);
  const view = new DataView(bytes.buffer, layout.offsetToPoints, pointBytes);
  encodeRecords(view, points, 0, points.count, recordLayout(layout), tally);
  bytes.set(encodeHead(layout, tally), 0);
  bytes.set(evlrs, layout.offsetToPoints + pointBytes);
  return bytes;
}

const BLOCK_POINTS = 65_536;

/** Writes a LAS file block by block: nothing is held but one block, so that files of any size can be made. */
export class LasFileWriter {
  readonly path: string;
  private readonly layout: LasLayout;
  private readonly tally: PointTally = createTally();
  private readonly block: Uint8Array;
  private file: number;

  /** Creates the file. @throws Error when the options contradict the standard. */
  constructor(path: string, options: LasOptions) {
    this.path = path;
    this.layout = planLas(options);
    this.block = new Uint8Array(BLOCK_POINTS * this.layout.recordLength);
    this.file = openSync(path, 'w');
    writeFully(this.file, new Uint8Array(this.layout.offsetToPoints), 0);
  }

  get count(): number {
    return this.tally.count;
  }

  /** Appends points. */
  add(points: PointColumns): void {
    const { recordLength, offsetToPoints } = this.layout;
    for (let from = 0; from < points.count; from += BLOCK_POINTS) {
      const to = Math.min(points.count, from + BLOCK_POINTS);
      const bytes = this.block.subarray(0, (to - from) * recordLength);
      bytes.fill(0);
      const at = offsetToPoints + this.tally.count * recordLength;
      const view = new DataView(bytes.buffer, 0, bytes.length);
      encodeRecords(view, points, from, to, recordLayout(this.layout), this.tally);
      writeFully(this.file, bytes, at);
    }
  }

  /** Writes extended records and the header, and closes the file. */
  close(): void {
    const { recordLength, offsetToPoints, options } = this.layout;
    const evlrs = encodeEvlrs(options.evlrs ?? []);
    writeFully(this.file, evlrs, offsetToPoints + this.tally.count * recordLength);
    writeFully(this.file, encodeHead(this.layout, this.tally), 0);
    closeSync(this.file);
    this.file = -1;
  }
}

function recordLayout(layout: LasLayout) {
  const { format, scale, offset } = layout.options;
  return { format, recordLength: layout.recordLength, scale, offset };
}

function writeFully(file: number, bytes: Uint8Array, position: number): void {
  for (let done = 0; done < bytes.length; ) done += writeSync(file, bytes, done, bytes.length - done, position + done);
}

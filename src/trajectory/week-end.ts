import type { Drive } from '../delivery/trajectory.js';
import { WEEK } from './gps-time.js';

/**
 * Cuts a drive at the end of the GPS week, where clouds that count seconds of the week begin again from 0, so that the times of each
 * part ascend. A drive within a week is returned as it is.
 */
export function splitAtWeekEnd(drive: Drive): Drive[] {
  const { time, epochs, rows } = drive;
  const first = time.findIndex((t) => t >= WEEK);
  if (first < 0) return [drive];
  if (first === 0) {
    for (let e = 0; e < epochs; e++) time[e] -= WEEK;
    return [drive];
  }
  const part = (begin: number, end: number, name: string): Drive => {
    const cut = Object.fromEntries(
      Object.entries(drive).map(([key, value]) => [key, ArrayBuffer.isView(value) ? cutOut(value, begin, end) : value]),
    ) as unknown as Drive;
    return { ...cut, name, epochs: end - begin, rows: Math.round((rows * (end - begin)) / epochs) };
  };
  const before = part(0, first, `${drive.name} (before the end of the week)`);
  const after = part(first, epochs, `${drive.name} (after the end of the week)`);
  for (let e = 0; e < after.epochs; e++) after.time[e] -= WEEK;
  return [before, { ...after, continues: before.name }];
}

/** A copy of some entries in shared memory. */
function cutOut(view: ArrayBufferView, begin: number, end: number): ArrayBufferView {
  const array = view as Float64Array;
  const type = array.constructor as { new (buffer: SharedArrayBuffer): Float64Array };
  const copy = new type(new SharedArrayBuffer((end - begin) * array.BYTES_PER_ELEMENT));
  copy.set(array.subarray(begin, end));
  return copy;
}

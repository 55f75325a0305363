import type { Piece } from '../cloud/cloud.js';
import { POINT_FORMATS } from '../cloud/point-formats.js';
import { openSource, type Source } from '../cloud/source.js';
import { Fault, isInternalError, TOO_FEW_HANDLES } from '../fault.js';
import type { WorkPlan } from './work-plan.js';

/** Points of a file of which the GPS time is read, about. */
const PER_FILE = 24;
/** Files that are opened, at most: spread over the delivery. */
const FILES = 200;

/**
 * GPS times of some points of every file, ascending, as stored: of points spread over a file without compression, and of the first
 * points of chunks, which are stored as they are. A file that cannot be read adds none; reading its points reports it.
 */
export async function sampleTimes({ files, tasks, units }: WorkPlan): Promise<Float64Array> {
  const pieces = new Map<number, Piece[]>();
  for (const { file, span } of tasks) pieces.set(file, [...(pieces.get(file) ?? []), ...span.pieces]);
  const step = Math.max(1, Math.ceil(pieces.size / FILES));
  const times: number[] = [];
  for (const index of [...pieces.keys()].filter((_, k) => k % step === 0)) {
    const { header, format, address } = files[index];
    const at = header ? POINT_FORMATS[header.pointFormat].gpsTime : -1;
    if (header === null || at < 0) continue;
    const begins = beginsOf(pieces.get(index)!, format === 'LAS' ? header.recordLength : null);
    let source: Source | null = null;
    try {
      source = await openSource(address, { timeoutMs: units[index].timeoutMs });
      for (const begin of begins) {
        const bytes = await source.read(begin + at, begin + at + 8);
        times.push(new DataView(bytes.buffer, bytes.byteOffset, 8).getFloat64(0, true));
      }
    } catch (error) {
      const fault = Fault.from(error, address);
      if (isInternalError(fault.facts) || fault.facts.code === TOO_FEW_HANDLES) throw fault;
    } finally {
      await source?.close();
    }
  }
  return Float64Array.from(times.filter((time) => Number.isFinite(time))).sort();
}

/** Where records begin that can be read as they are. */
function beginsOf(pieces: readonly Piece[], recordLength: number | null): number[] {
  const few = <T>(list: readonly T[]) => {
    const step = Math.max(1, list.length / PER_FILE);
    const chosen: T[] = [];
    for (let k = 0; k < list.length; k += step) chosen.push(list[Math.floor(k)]);
    return chosen;
  };
  const filled = pieces.filter(({ points }) => points > 0);
  if (recordLength === null) return few(filled).map(({ begin }) => begin);
  const each = Math.max(1, Math.ceil(PER_FILE / Math.max(1, filled.length)));
  return few(filled).flatMap(({ begin, points }) =>
    Array.from({ length: Math.min(each, points) }, (_, k) => begin + Math.floor((k * points) / each) * recordLength),
  );
}

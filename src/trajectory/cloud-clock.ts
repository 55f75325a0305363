import type { DeliveredFile } from '../delivery/delivery.js';
import { ADJUSTMENT } from './gps-time.js';

/** What the GPS times of the clouds count. */
export interface CloudClock {
  /** Seconds to be added to a stored time for standard GPS time; null where times are seconds of the week. */
  offset: number | null;
  words: string;
}

/** Bit 6 of the global encoding: the header states another offset than 1e9, in million seconds (LAS 1.5, byte 391). */
const OFFSET_STATED = 64;

/**
 * What the GPS times of all readable clouds count (LAS specification 1.4 and 1.5, global encoding, bits 0 and 6); otherwise why it is
 * not known.
 */
export function cloudClock(files: readonly DeliveredFile[]): CloudClock | { problem: string } {
  const timed = files.filter(({ header }) => header !== null && ![0, 2].includes(header.pointFormat));
  if (timed.length === 0) return { problem: 'the points of the cloud carry no GPS time' };
  const clocks = timed.map((file) => ({ file, clock: clockOf(file) }));
  const other = clocks.find(({ clock }) => clock.offset !== clocks[0].clock.offset);
  if (!other) return clocks[0].clock;
  const [a, b] = [clocks[0], other].map(({ file, clock }) => `${file.name} in ${clock.words}`);
  return { problem: `the files of the cloud count GPS time in different ways: ${a}, ${b}` };
}

function clockOf({ header }: DeliveredFile): CloudClock {
  const { globalEncoding, versionMinor, timeOffset } = header!;
  // Versions 1.0 and 1.1 have seconds of the week only.
  if (versionMinor < 2 || (globalEncoding & 1) === 0) return { offset: null, words: 'seconds of the GPS week' };
  if (versionMinor >= 5 && (globalEncoding & OFFSET_STATED) !== 0 && timeOffset !== null)
    return { offset: timeOffset * 1e6, words: `standard GPS time less ${timeOffset} million seconds` };
  return { offset: ADJUSTMENT, words: 'adjusted standard GPS time' };
}

import type { DeliveredFile, PassRule } from './delivery.js';

/** First and last GPS time of a pass, in seconds as stored in the cloud. */
export interface PassTimes {
  begin: number;
  end: number;
  /** True when the times are adjusted standard GPS time (bit 0 of the global encoding, LAS 1.2 and later). */
  adjusted: boolean;
}

/**
 * What a pass is called in reports: "source 12", the name of its file, "channel 1", or "10:02:11 to 10:07:40" (GPS time
 * of day, whole seconds, cut off). Without `times` a pass by GPS time gap is "drive 3", counted from 1.
 */
export function labelForPass(
  rule: PassRule,
  key: number,
  files: readonly Pick<DeliveredFile, 'index' | 'name'>[],
  times?: PassTimes,
): string {
  switch (rule.by) {
    case 'point-source-id':
      return `source ${key}`;
    case 'file':
      return files.find((file) => file.index === key)?.name ?? `file ${key + 1}`;
    case 'scanner-channel':
      return `channel ${key}`;
    case 'gps-time-gap':
      return times ? `${clock(times.begin, times)} to ${clock(times.end, times)}` : `drive ${key + 1}`;
  }
}

const DAY_SECONDS = 86_400;
/** Adjusted standard GPS time is satellite GPS time minus this (LAS 1.4 R15, public header block, global encoding). */
const ADJUSTMENT_SECONDS = 1_000_000_000;

/** GPS weeks and the GPS epoch both begin at midnight, so seconds of the day are a remainder; no leap seconds. */
function clock(seconds: number, { adjusted }: PassTimes): string {
  const whole = Math.floor(seconds) + (adjusted ? ADJUSTMENT_SECONDS : 0);
  const day = ((whole % DAY_SECONDS) + DAY_SECONDS) % DAY_SECONDS;
  const two = (value: number) => String(value).padStart(2, '0');
  return `${two(Math.floor(day / 3600))}:${two(Math.floor(day / 60) % 60)}:${two(day % 60)}`;
}

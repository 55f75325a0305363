import { Encoding, type Header } from '../cloud/header.js';
import type { DeliveredFile } from '../delivery/delivery.js';
import type { Recount } from '../measure/header-recount.js';
import type { Report } from '../report/model.js';

/** Start of GPS time: 6 January 1980, 0 h (LAS specification 1.4, "GPS Time"). */
const GPS_EPOCH = Date.UTC(1980, 0, 6);
/** Adjusted standard GPS time is GPS time minus this many seconds (LAS specification 1.4, global encoding bit 0). */
const ADJUSTMENT = 1e9;
/** LAS 1.5, global encoding bit 6: the header states another offset, in million seconds. */
const OFFSET_STATED = 64;

/**
 * First and last GPS time of the delivery (no leap seconds) as YYYY-MM-DDThh:mm:ss, from the recount of the points, otherwise
 * from headers that state it (LAS 1.5). Null when no file counts its times from a known day.
 */
export function capturedDates(
  files: readonly DeliveredFile[],
  recounts: readonly Recount[] | null,
): Report['delivery']['captured'] {
  const times = files.flatMap(({ header, index }) => {
    if (!header || (header.globalEncoding & Encoding.standardGpsTime) === 0) return [];
    const counted = recounts?.find((recount) => recount.file === index)?.gps ?? null;
    const stated =
      header.gpsTimeMin !== null && header.gpsTimeMax !== null ? [header.gpsTimeMin, header.gpsTimeMax] : null;
    return (counted ?? stated ?? []).map((seconds) => seconds + offsetOf(header));
  });
  const real = times.filter((seconds) => seconds > 0 && seconds < 4e9);
  if (real.length === 0) return null;
  const text = (seconds: number) => new Date(GPS_EPOCH + Math.floor(seconds) * 1000).toISOString().slice(0, 19);
  return { from: text(least(real)), to: text(most(real)) };
}

/** First and last day on which the headers say the files were written, as YYYY-MM-DD; null when no header states it. */
export function writtenDates(files: readonly DeliveredFile[]): Report['delivery']['written'] {
  const days = files.flatMap(({ header }) => {
    if (!header || header.creationYear < 1900 || header.creationDay < 1 || header.creationDay > 366) return [];
    return [Date.UTC(header.creationYear, 0, header.creationDay)];
  });
  if (days.length === 0) return null;
  const text = (time: number) => new Date(time).toISOString().slice(0, 10);
  return { from: text(least(days)), to: text(most(days)) };
}

function offsetOf({ globalEncoding, timeOffset }: Header): number {
  return (globalEncoding & OFFSET_STATED) !== 0 && timeOffset !== null ? timeOffset * 1e6 : ADJUSTMENT;
}

function least(values: readonly number[]): number {
  return values.reduce((a, b) => Math.min(a, b));
}

function most(values: readonly number[]): number {
  return values.reduce((a, b) => Math.max(a, b));
}

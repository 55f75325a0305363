/**
 * GPS minus UTC, whole seconds, from the first second of a UTC day on. Source: leap-seconds.list of the time zone database
 * (https://github.com/eggert/tz, valid to 28 June 2027): TAI minus UTC, less 19 s, by which GPS time is behind TAI for good.
 */
const LEAP_SECONDS: readonly (readonly [day: string, seconds: number])[] = [
  ['1980-01-06', 0],
  ['1981-07-01', 1],
  ['1982-07-01', 2],
  ['1983-07-01', 3],
  ['1985-07-01', 4],
  ['1988-01-01', 5],
  ['1990-01-01', 6],
  ['1991-01-01', 7],
  ['1992-07-01', 8],
  ['1993-07-01', 9],
  ['1994-07-01', 10],
  ['1996-01-01', 11],
  ['1997-07-01', 12],
  ['1999-01-01', 13],
  ['2006-01-01', 14],
  ['2009-01-01', 15],
  ['2012-07-01', 16],
  ['2015-07-01', 17],
  ['2017-01-01', 18],
];

/** Start of GPS time, 6 January 1980 0 h, in Unix seconds (LAS specification 1.4, "GPS Time"). */
const GPS_EPOCH_UNIX = 315_964_800;
/** Seconds of a GPS week. */
export const WEEK = 604_800;
/** Weeks after which a week number of 10 bits starts again from 0 (22 August 1999, 7 April 2019, 21 November 2038). */
export const WEEK_NUMBERS = 1024;
/** Adjusted standard GPS time is standard GPS time minus this many seconds (LAS specification 1.4, global encoding bit 0). */
export const ADJUSTMENT = 1e9;

const STEPS = LEAP_SECONDS.map(([day, seconds]) => [Date.parse(`${day}T00:00:00Z`) / 1000, seconds] as const);

/** GPS minus UTC at a time in Unix seconds, whole seconds. */
export function leapSecondsAt(unix: number): number {
  for (let k = STEPS.length - 1; k >= 0; k--) if (unix >= STEPS[k][0]) return STEPS[k][1];
  return 0;
}

/** Standard GPS time (seconds since 6 January 1980) of a time in Unix seconds. */
export function gpsOfUnix(unix: number): number {
  return unix - GPS_EPOCH_UNIX + leapSecondsAt(unix);
}

/**
 * Standard GPS time of a UTC date and time of day; second 60 of a leap second is its own.
 * @param unixDay midnight of the day in Unix seconds
 * @param secondOfDay 0 to 86,400 and the fraction
 */
export function gpsOfUtc(unixDay: number, secondOfDay: number): number {
  return unixDay - GPS_EPOCH_UNIX + secondOfDay + leapSecondsAt(unixDay);
}

/** Week number, counted without roll-over, and second of the week of a standard GPS time. */
export function weekOf(gps: number): { week: number; seconds: number } {
  const week = Math.floor(gps / WEEK);
  return { week, seconds: gps - week * WEEK };
}

/** A standard GPS time as YYYY-MM-DD hh:mm:ss, in GPS time (no leap seconds). */
export function gpsWords(gps: number): string {
  const date = new Date((GPS_EPOCH_UNIX + Math.floor(gps)) * 1000);
  return Number.isNaN(date.getTime()) ? `${gps} s` : date.toISOString().slice(0, 19).replace('T', ' ');
}

import type { StatedTime, TimeSystem } from '../delivery/time-systems.js';
import type { CloudClock } from './cloud-clock.js';
import { ADJUSTMENT, gpsOfUnix, gpsWords, WEEK, WEEK_NUMBERS } from './gps-time.js';

/** First and last time of a drive, as its file counts. */
export interface TimeRange {
  first: number;
  last: number;
}

/** A way to read the times of a file. */
export interface TimeFit {
  system: TimeSystem;
  /** Words for the report. */
  words: string;
  /** From the time of the file to that of the clouds. */
  toCloud(time: number): number;
  /** Share of the sample of the clouds' times that lie within the drives. */
  share: number;
}

const WORDS: Record<TimeSystem, string> = {
  'gps-week-seconds': 'seconds of the GPS week',
  'gps-seconds': 'standard GPS seconds',
  'adjusted-gps-seconds': 'adjusted standard GPS seconds',
  utc: 'UTC',
  'unix-seconds': 'Unix seconds',
};

/**
 * The way to read the times of a file. Where its system is not stated, it is the one in which most of the clouds' times lie within
 * its drives; a week that is not stated is that of the clouds.
 * @param ranges of the drives of the file
 * @param sample times of points of the clouds, ascending, as stored
 * @returns null where nothing is stated and no system comes within a year of the points
 */
export function fitTime(
  ranges: readonly TimeRange[],
  stated: StatedTime | null,
  clock: CloudClock,
  sample: Float64Array,
): TimeFit | null {
  const fits = candidates(ranges, stated, clock, sample);
  const best = fits.reduce<TimeFit | null>((found, fit) => (found && found.share >= fit.share ? found : fit), null);
  if (best && (best.share > 0 || stated !== null)) return best;
  // A drive without points, or of another day: systems differ by ten years and more, so the nearest one is meant.
  const near = fits
    .filter(({ system }) => clock.offset !== null || system === 'gps-week-seconds')
    .map((fit) => ({ fit, seconds: distanceTo(ranges, fit, sample) }))
    .sort((a, b) => a.seconds - b.seconds)[0];
  return near && near.seconds < NEAR ? near.fit : null;
}

/** Time within which a drive and the points are of one survey, seconds: a year. */
const NEAR = 365 * 86_400;

function distanceTo(ranges: readonly TimeRange[], { toCloud }: TimeFit, sample: Float64Array): number {
  if (sample.length === 0) return Number.POSITIVE_INFINITY;
  const time = toCloud(ranges[0].first);
  return Math.max(sample[0] - time, time - sample[sample.length - 1], 0);
}

/** The way that would fit where the stated one does not: a hint for a message; null where there is none. */
export function otherFit(ranges: readonly TimeRange[], clock: CloudClock, sample: Float64Array): TimeFit | null {
  const fit = fitTime(ranges, null, clock, sample);
  return fit && fit.share > 0 ? fit : null;
}

function candidates(
  ranges: readonly TimeRange[],
  stated: StatedTime | null,
  clock: CloudClock,
  sample: Float64Array,
): TimeFit[] {
  const all: [TimeSystem, string, (time: number) => number][] = [];
  const { first } = ranges[0];
  const wants = (system: TimeSystem) => stated === null || stated.system === system;
  const inWeek = first >= 0 && first < WEEK;
  if (wants('gps-week-seconds') && (inWeek || stated !== null)) {
    for (const week of weeksOf(stated, clock, sample))
      all.push(['gps-week-seconds', week === null ? '' : `, week ${week}`, (t) => t + (week ?? 0) * WEEK]);
  }
  if (wants('gps-seconds')) {
    // A week number of ten bits begins again after 1024 weeks.
    const turns = first < WEEK_NUMBERS * WEEK ? [0, 1, 2, 3] : [0];
    for (const turn of turns)
      all.push([
        'gps-seconds',
        turn === 0 ? '' : `, ${turn * WEEK_NUMBERS} weeks added`,
        (t) => t + turn * WEEK_NUMBERS * WEEK,
      ]);
  }
  if (wants('adjusted-gps-seconds')) all.push(['adjusted-gps-seconds', '', (t) => t + ADJUSTMENT]);
  if (stated?.system === 'utc') all.push(['utc', '', (t) => t]);
  if (wants('unix-seconds')) all.push(['unix-seconds', '', gpsOfUnix]);
  return all.map(([system, more, toGps]) => {
    // Between two weekly counts no week need be known.
    const relative = system === 'gps-week-seconds' && clock.offset === null && (stated?.week ?? null) === null;
    const shift = clock.offset ?? (relative ? 0 : Math.floor(toGps(first) / WEEK) * WEEK);
    const toCloud = (time: number) => toGps(time) - shift;
    return { system, words: `${WORDS[system]}${more}`, toCloud, share: shareWithin(ranges, toCloud, clock, sample) };
  });
}

/** Weeks to try for seconds of the week: the stated one, or those of the clouds' times; null where no week is needed. */
function weeksOf(stated: StatedTime | null, clock: CloudClock, sample: Float64Array): (number | null)[] {
  if (stated?.week !== null && stated?.week !== undefined) {
    const { week } = stated;
    return week < WEEK_NUMBERS ? [week, week + WEEK_NUMBERS, week + 2 * WEEK_NUMBERS] : [week];
  }
  if (clock.offset === null || sample.length === 0) return [null];
  const week = Math.floor((sample[sample.length >> 1] + clock.offset) / WEEK);
  // A drive over Saturday midnight begins in the week before.
  return [week, week - 1];
}

function shareWithin(
  ranges: readonly TimeRange[],
  toCloud: (time: number) => number,
  clock: CloudClock,
  sample: Float64Array,
): number {
  if (sample.length === 0) return 0;
  const spans = ranges.map(({ first, last }) => [toCloud(first), toCloud(last)]);
  const within = (time: number) => spans.some(([first, last]) => time >= first && time <= last);
  let count = 0;
  for (const time of sample) if (within(time) || (clock.offset === null && within(time + WEEK))) count++;
  return count / sample.length;
}

/** The first and last of some times of the clouds' in words: dates where the week is known. */
export function rangeWords(from: number, to: number, clock: CloudClock): string {
  if (clock.offset === null) return `second ${from.toFixed(1)} to ${to.toFixed(1)} of the GPS week`;
  const { offset } = clock;
  return `${gpsWords(from + offset)} to ${gpsWords(to + offset)} GPS time`;
}

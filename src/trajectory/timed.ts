import { type StatedTime, TIME_SYSTEM_NAMES } from '../delivery/time-systems.js';
import { Fault } from '../fault.js';
import type { CloudClock } from './cloud-clock.js';
import { fitTime, otherFit, rangeWords, type TimeFit, type TimeRange } from './fit-time.js';
import { WEEK } from './gps-time.js';
import type { RawFile } from './raw-drive.js';

/** How the times of each file are read. */
interface Timed {
  fits: TimeFit[];
  /** Whether times begin again from 0 at Saturday midnight in the clouds, so that a drive over it must be cut there. */
  split: boolean;
  notes: string[];
}

/**
 * Settles how the times of all files are read.
 * @param asked the time system that the user asks for; it must not differ from what a file states
 * @param sample times of points of the clouds, ascending, as stored
 * @throws Fault `trajectory-time` where no time system fits, or where no drive is at the time of the clouds
 */
export function timed(
  files: readonly RawFile[],
  asked: StatedTime | null,
  clock: CloudClock,
  sample: Float64Array,
): Timed {
  const ranges = files.map(rangesOf);
  const stated = files.map((file) => statedOf(file, asked));
  const found = files.map((_, k) => fitTime(ranges[k], stated[k], clock, sample));
  // A drive without points says nothing of its time system: it is that of the other files of its kind.
  const known = found.find((fit, k) => fit !== null && stated[k] === null);
  const fits = found.map(
    (fit, k) => fit ?? (known ? fitTime(ranges[k], { system: known.system, week: null }, clock, sample) : null),
  );
  const share = fits.reduce((most, fit) => Math.max(most, fit?.share ?? 0), 0);
  const unknown = fits.indexOf(null);
  if (unknown >= 0 || share === 0) {
    const k = Math.max(0, unknown);
    throw unmatched(files[k], ranges[k], fits[k], clock, sample);
  }
  const all = fits as TimeFit[];
  const notes = all.map((fit, k) => {
    const how = files[k].time !== null || asked !== null ? 'as stated' : 'as fits the GPS times of the points';
    return `${files[k].drives[0].name}: times read as ${fit.words}, ${how}, and set beside ${clock.words} of the cloud.`;
  });
  const split = clock.offset === null && sample.length > 0 && sample[sample.length - 1] < WEEK;
  return { fits: all, split, notes };
}

function statedOf({ time, drives }: RawFile, asked: StatedTime | null): StatedTime | null {
  if (asked === null) return time;
  const differs =
    time !== null && (time.system !== asked.system || (time.week ?? asked.week) !== (asked.week ?? time.week));
  if (differs) {
    throw new Fault({
      code: 'trajectory-time',
      where: drives[0].name,
      what: 'the file and --trajectory-time state different time systems',
      found: words(time),
      expected: words(asked),
      advice: 'Give the correct one, or correct the file',
    });
  }
  return { system: asked.system, week: asked.week ?? time?.week ?? null };
}

function words({ system, week }: StatedTime): string {
  return week === null ? system : `${system}, week ${week}`;
}

function rangesOf({ drives }: RawFile): TimeRange[] {
  return drives.map(({ epochs: { time } }) => ({ first: time[0], last: time[time.length - 1] }));
}

function unmatched(
  file: RawFile,
  ranges: readonly TimeRange[],
  fit: TimeFit | null,
  clock: CloudClock,
  sample: Float64Array,
): Fault {
  const where = file.drives[0].name;
  if (sample.length === 0) {
    return new Fault({ code: 'trajectory-time', where, what: 'no GPS time of a point could be read to set it beside' });
  }
  const cloud = rangeWords(sample[0], sample[sample.length - 1], clock);
  const first = ranges.reduce((least, range) => Math.min(least, range.first), Infinity);
  const last = ranges.reduce((most, range) => Math.max(most, range.last), -Infinity);
  const own = fit ? rangeWords(fit.toCloud(first), fit.toCloud(last), clock) : `${first} to ${last} as the file counts`;
  const other = fit ? otherFit(ranges, clock, sample) : null;
  const hint = other
    ? `It would fit as ${other.words}: correct what the file or --trajectory-time states`
    : fit
      ? 'Give the trajectory of the drives on which these points were recorded'
      : `State what its times count, with --trajectory-time or a line "# time: ..." (${TIME_SYSTEM_NAMES})`;
  return new Fault({
    code: 'trajectory-time',
    where,
    what: `the trajectory is not at the time of the points: it is from ${own}, the points are from ${cloud}`,
    advice: hint,
  });
}

import { type Drive, SOLUTIONS } from '../delivery/trajectory.js';
import { fact } from '../measure/fact-types.js';
import type { Check, Evidence, Figure, Location, Requirement, State } from './contract/check.js';
import { atLeast, atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, percent, plural } from './contract/wording.js';
import { drivesOf, placeAt, secondsOf, timeWords } from './trajectory/drives.js';
import {
  chartOf,
  type EpochQuality,
  isWithin,
  lookAt,
  placesBeyond,
  QUALITIES,
  valueAt,
  worstOf,
} from './trajectory/epoch-limits.js';
import { jumpsOf, longestGap, STRONGEST, speedFound } from './trajectory/motion.js';
import { pointCover } from './trajectory/point-cover.js';
import { drivesTable, inUnit, speedChart } from './trajectory/quality-evidence.js';
import { optionSchemas, qualityOptions, SIGMA_SHARES } from './trajectory/quality-options.js';

/** Every option is a limit; at least one is needed. */
export type TrajectoryQualityOptions = Partial<Record<keyof typeof qualityOptions, number>>;

/** The figures, and the limits they are held against. */
const metrics = {
  ...Object.fromEntries(
    QUALITIES.flatMap(({ extreme, mean, words, unit, sense }) => [
      [
        extreme.figure,
        sense === 'at-most'
          ? metric(`largest ${words}`, unit, atMost(extreme.option))
          : metric(`least ${words}`, unit, atLeast(extreme.option)),
      ],
      ...(mean ? [[mean.figure, metric(`mean ${words}`, unit, atMost(mean.option))]] : []),
    ]),
  ),
  sigmaShare: metric('share of the time within the standard deviations', 'share', atLeast('minSigmaShare')),
  fixedShare: metric('share of the time with a fixed solution', 'share', atLeast('minFixedShare')),
  gap: metric('longest time between two rows', 's', atMost('maxGap')),
  jump: metric('largest jump', 'm', atMost('maxJump')),
  fastest: metric('fastest speed', 'km/h', atMost('maxSpeed')),
  aboveSpeed: metric('share of the time above the speed', 'share', atMost('maxShareAboveSpeed')),
  pointsWithout: metric('share of the points without trajectory', 'share', atMost('maxPointsWithout')),
  secondsWithout: metric('seconds with points without trajectory', 's'),
  secondsWithoutPoints: metric('longest time without points', 's', atMost('maxSecondsWithoutPoints')),
  drives: metric('drives', 'count'),
  rows: metric('rows', 'count'),
} satisfies Metrics as Metrics;

const needs = ({ maxPointsWithout, maxSecondsWithoutPoints }: Requirement<TrajectoryQualityOptions>) => ({
  seconds:
    maxPointsWithout === undefined && maxSecondsWithoutPoints === undefined ? undefined : fact('point-seconds', null),
});

/** What one limit gave. */
interface Outcome {
  state: State;
  text: string;
}

export const trajectoryQuality = {
  id: 'trajectory-quality',
  title: 'Quality of the trajectory',
  why: 'Every point takes its place from the trajectory: an error of position or attitude is an error of all points of that moment, and it is found in the trajectory long before it is found in the cloud.',
  sources: [
    {
      standard: 'Korea, rules for HD road maps, notice 2023-4338',
      clause: 'annex 2.2',
      note: 'position of the system 0.10 m horizontal and 0.20 m vertical, roll and pitch 0.05 degree, heading 0.10 degree (read)',
    },
    {
      standard: 'Japan, GSI public survey operation rules (2025)',
      clause: '491, 500, 509',
      note: 'position 0.15 m horizontal and 0.20 m height, heading 0.15 degree; base line 10 km as a rule, never over 30 km; mean and largest standard deviation of the trajectory reported (transcript read)',
    },
    {
      standard: 'Japan, GSI public survey operation rules (2025)',
      clause: '193, 462, 553',
      note: 'mean 0.10 m, largest 0.15 m in each axis; forward minus backward 0.30 m; PDOP 3: written for airborne and drone surveys, here by analogy (transcript read)',
    },
    {
      standard: 'common practice',
      note: `a jump: a change of position that needs more than ${STRONGEST} m/s², about what tyres hold on a dry road; no public rule limits the speed of a vehicle survey`,
    },
  ],
  schema: {
    properties: optionSchemas(),
    required: [],
    anyOf: Object.keys(qualityOptions)
      .filter((option) => !/Share/.test(option) || option === 'minFixedShare')
      .map((option) => ({ required: [option] })),
  },
  wholeFiles: true,
  metrics,
  quality: 'DQ_AbsoluteExternalPositionalAccuracy',
  sideFiles: () => ['trajectory'] as const,
  needs,

  explain(requirement: Requirement<TrajectoryQualityOptions>) {
    const parts = Object.entries(qualityOptions).flatMap(([option, { words, unit }]) => {
      const limit = requirement[option as keyof TrajectoryQualityOptions];
      return limit === undefined ? [] : [words.replace('%', unit === 'share' ? percent(limit) : `${limit}${unit}`)];
    });
    return `In every drive of the trajectory, ${parts.length > 1 ? `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)}` : parts[0]}.`;
  },

  judge({ seconds }, requirement, context) {
    const limits = limitsOf(metrics, requirement);
    // Where a share of the time may be beyond a limit, the extremes are shown but not judged.
    if (requirement.minSigmaShare !== undefined) {
      for (const { extreme } of QUALITIES) if (SIGMA_SHARES.includes(extreme.option)) delete limits[extreme.figure];
    }
    if (requirement.maxShareAboveSpeed !== undefined) delete limits.fastest;
    const known = drivesOf(context, limits);
    if ('verdict' in known) return known.verdict;
    const { drives } = known;
    const measured: Record<string, Figure> = {
      drives: figure(drives.length, 'count'),
      rows: figure(
        drives.reduce((sum, drive) => sum + drive.rows, 0),
        'count',
      ),
    };
    const outcomes: Outcome[] = [];
    const evidence: Evidence[] = [];
    const places: Location[] = [];
    const hold = (name: string, value: number | null, words: string, unknown: string) => {
      const { unit, limit } = metrics[name];
      measured[name] = figure(value, unit);
      const bound = limits[name]?.value;
      if (bound === undefined || bound === null) return true;
      if (value === null) {
        outcomes.push({ state: 'undetermined', text: unknown });
        return true;
      }
      const good = isWithin(value, bound, limit!.sense);
      const side = limit!.sense === 'at-most' ? 'at most' : 'at least';
      const text = `${words} ${inUnit(value, unit)} (${side} ${inUnit(bound, unit)})`;
      outcomes.push({ state: good ? 'pass' : 'fail', text });
      return good;
    };

    const option = (name: string) => requirement[name as keyof TrajectoryQualityOptions];
    const shared: { quality: EpochQuality; limit: number }[] = [];
    for (const quality of QUALITIES) {
      const { extreme, mean, words, sense } = quality;
      const limit = option(extreme.option);
      if (limit === undefined && (!mean || option(mean.option) === undefined)) continue;
      const found = lookAt(quality, drives);
      const lacking = found.missing[0];
      const unknown = lacking
        ? `${lacking.drive} has no column for the ${lacking.column}`
        : `no row states the ${words}`;
      const good = hold(
        extreme.figure,
        found.extreme,
        `${sense === 'at-most' ? 'largest' : 'least'} ${words}`,
        unknown,
      );
      if (mean) hold(mean.figure, found.mean, `mean ${words}`, unknown);
      if (lacking && found.extreme !== null) outcomes.push({ state: 'undetermined', text: unknown });
      else if (found.unstated > 0 && found.extreme !== null)
        outcomes.push({
          state: 'undetermined',
          text: `${plural(found.unstated, 'epoch does', 'epochs do')} not state the ${words}`,
        });
      if (limit !== undefined && SIGMA_SHARES.includes(extreme.option)) shared.push({ quality, limit });
      if (!good && limit !== undefined) for (const place of placesBeyond(quality, limit, drives)) places.push(place);
      for (const chart of chartOf(quality, limit, drives)) evidence.push(chart);
    }
    if (requirement.minSigmaShare !== undefined) {
      const share = shareWithin(shared, drives);
      const good = hold('sigmaShare', share, 'share of the time within', 'no row states the standard deviations');
      if (!good)
        for (const { quality, limit } of shared)
          for (const place of placesBeyond(quality, limit, drives)) places.push(place);
    }
    if (requirement.minFixedShare !== undefined) {
      const lacking = drives.find(({ solution }) => solution === null);
      const unknown = `${lacking?.name ?? 'the trajectory'} has no column for the solution type`;
      hold('fixedShare', lacking ? null : fixedShare(drives), 'share of the time with a fixed solution', unknown);
    }
    if (requirement.maxGap !== undefined) {
      const { seconds: gap, at } = longestGap(drives);
      if (!hold('gap', gap, 'longest time between two rows', '') && at)
        places.push(
          placeAt(
            at.drive,
            at.epoch,
            gap,
            's',
            `no row for ${gap.toFixed(3)} s from ${timeWords(at.drive.time[at.epoch])}`,
          ),
        );
    }
    if (requirement.maxJump !== undefined) {
      const jumps = drives.flatMap(jumpsOf).sort((a, b) => b.metres - a.metres);
      if (!hold('jump', jumps[0]?.metres ?? 0, 'largest jump', '')) {
        for (const { drive, epoch, metres } of jumps.slice(0, 20))
          places.push(placeAt(drive, epoch, metres, 'm', `jump at ${timeWords(drive.time[epoch])}`));
      }
    }
    if (requirement.maxSpeed !== undefined || requirement.maxShareAboveSpeed !== undefined) {
      const { fastest, above, at } = speedFound(drives, requirement.maxSpeed);
      const unknown = 'no two rows are near enough to each other for a speed';
      const good = hold('fastest', fastest, 'fastest speed', unknown);
      const share = requirement.maxSpeed === undefined ? null : above;
      const goodShare =
        requirement.maxShareAboveSpeed === undefined ||
        hold('aboveSpeed', share, 'share of the time above the speed', 'the share needs maxSpeed as well');
      if (!(good && goodShare) && at)
        places.push(placeAt(at.drive, at.epoch, fastest, 'km/h', `fastest, at ${timeWords(at.drive.time[at.epoch])}`));
      evidence.push(speedChart(drives));
    }
    if (seconds) {
      const cover = pointCover(seconds, drives);
      const unknown = 'no point has a GPS time';
      const share = cover.points === 0 ? null : cover.without / cover.points;
      const good = hold('pointsWithout', share, 'share of the points without trajectory', unknown);
      measured.secondsWithout = figure(cover.secondsWithout, 's');
      hold('secondsWithoutPoints', cover.longestWithoutPoints, 'longest time without points', unknown);
      if (!good) for (const place of cover.places) places.push(place);
    }
    const state = worstOf(outcomes.map((one) => one.state));
    const said = outcomes.filter((one) => one.state === state).map(({ text }) => text);
    return {
      state,
      summary: `${plural(drives.length, 'drive')}: ${said.slice(0, 4).join('; ')}${said.length > 4 ? ` and ${said.length - 4} more` : ''}.`,
      measured,
      limits,
      evidence: [
        { kind: 'locations', title: 'Where the trajectory is not as agreed', items: places },
        drivesTable(drives),
        ...evidence,
      ],
      advice:
        state === 'fail'
          ? [
              'Process the trajectory again with the data of nearer reference stations, or drive the places named again.',
            ]
          : [],
    };
  },
} satisfies Check<TrajectoryQualityOptions, typeof needs>;

/** Share of the time in which all of some qualities are within their limits; null where a drive does not state them. */
function shareWithin(
  shared: readonly { quality: EpochQuality; limit: number }[],
  drives: readonly Drive[],
): number | null {
  let [within, all] = [0, 0];
  for (const drive of drives) {
    const values = shared.map(({ quality, limit }) => ({ value: valueAt(quality, drive), limit }));
    if (shared.some(({ quality }) => quality.columns.some(({ key }) => drive[key] === null))) return null;
    for (let e = 0; e < drive.epochs; e++) {
      const seconds = secondsOf(drive, e);
      all += seconds;
      if (values.every(({ value, limit }) => isWithin(value(e), limit, 'at-most'))) within += seconds;
    }
  }
  return all > 0 && shared.length > 0 ? within / all : null;
}

function fixedShare(drives: readonly Drive[]): number | null {
  const fixed = SOLUTIONS.indexOf('fixed');
  let [within, all] = [0, 0];
  for (const drive of drives) {
    for (let e = 0; e < drive.epochs; e++) {
      const seconds = secondsOf(drive, e);
      all += seconds;
      if (drive.solution![e] === fixed) within += seconds;
    }
  }
  return all > 0 ? within / all : null;
}

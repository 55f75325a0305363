import { type Drive, NOT_STATED, type TrajectoryMean } from '../../delivery/trajectory.js';
import type { Evidence, Location, State, Unit } from '../contract/check.js';
import { chartLine, placeAt, runsOf, timeWords } from './drives.js';

/** A quality that every row of a trajectory states, and the options that limit it. */
export interface EpochQuality {
  /** Names of the figures and options: the extreme, and the mean where it can be limited. */
  extreme: { figure: string; option: string };
  mean?: { figure: string; option: string; columns: readonly TrajectoryMean[] };
  words: string;
  unit: Unit;
  columns: readonly { key: keyof Drive; words: string }[];
  /** The side of the limit that is good. */
  sense: 'at-most' | 'at-least';
}

const column = (key: keyof Drive, words: string) => ({ key, words });

/** What a row of a trajectory says of its quality. Of several columns the worst is held against the limit. */
export const QUALITIES: readonly EpochQuality[] = [
  {
    extreme: { figure: 'sigmaHorizontal', option: 'maxSigmaHorizontal' },
    mean: {
      figure: 'meanSigmaHorizontal',
      option: 'maxMeanSigmaHorizontal',
      columns: ['sigmaEast', 'sigmaNorth'],
    },
    words: 'standard deviation in east or north',
    unit: 'm',
    columns: [column('sigmaEast', 'standard deviation in east'), column('sigmaNorth', 'standard deviation in north')],
    sense: 'at-most',
  },
  {
    extreme: { figure: 'sigmaHeight', option: 'maxSigmaHeight' },
    mean: { figure: 'meanSigmaHeight', option: 'maxMeanSigmaHeight', columns: ['sigmaUp'] },
    words: 'standard deviation in height',
    unit: 'm',
    columns: [column('sigmaUp', 'standard deviation in height')],
    sense: 'at-most',
  },
  {
    extreme: { figure: 'sigmaRollPitch', option: 'maxSigmaRollPitch' },
    mean: { figure: 'meanSigmaRollPitch', option: 'maxMeanSigmaRollPitch', columns: ['sigmaRoll', 'sigmaPitch'] },
    words: 'standard deviation of roll or pitch',
    unit: 'degree',
    columns: [column('sigmaRoll', 'standard deviation of roll'), column('sigmaPitch', 'standard deviation of pitch')],
    sense: 'at-most',
  },
  {
    extreme: { figure: 'sigmaHeading', option: 'maxSigmaHeading' },
    mean: { figure: 'meanSigmaHeading', option: 'maxMeanSigmaHeading', columns: ['sigmaHeading'] },
    words: 'standard deviation of heading',
    unit: 'degree',
    columns: [column('sigmaHeading', 'standard deviation of heading')],
    sense: 'at-most',
  },
  {
    extreme: { figure: 'separation', option: 'maxSeparation' },
    mean: {
      figure: 'meanSeparation',
      option: 'maxMeanSeparation',
      columns: ['separationEast', 'separationNorth', 'separationUp'],
    },
    words: 'difference of the forward and the backward solution',
    unit: 'm',
    columns: [
      column('separationEast', 'forward minus backward in east'),
      column('separationNorth', 'forward minus backward in north'),
      column('separationUp', 'forward minus backward in height'),
    ],
    sense: 'at-most',
  },
  {
    extreme: { figure: 'pdop', option: 'maxPdop' },
    words: 'PDOP',
    unit: 'ratio',
    columns: [column('pdop', 'PDOP')],
    sense: 'at-most',
  },
  {
    extreme: { figure: 'satellites', option: 'minSatellites' },
    words: 'number of satellites',
    unit: 'count',
    columns: [column('satellites', 'number of satellites')],
    sense: 'at-least',
  },
  {
    extreme: { figure: 'baseDistance', option: 'maxBaseDistance' },
    words: 'distance to the reference station',
    unit: 'm',
    columns: [column('baseDistance', 'distance to the reference station')],
    sense: 'at-most',
  },
];

/** What was found of one quality. */
export interface QualityFound {
  quality: EpochQuality;
  extreme: number | null;
  mean: number | null;
  /** Drives that lack a column, and which. */
  missing: { drive: string; column: string }[];
  /** Epochs without a value. */
  unstated: number;
}

/** The worst value of a quality at an epoch; NaN where none is stated. */
export function valueAt({ columns, sense }: EpochQuality, drive: Drive): (e: number) => number {
  const arrays = columns.map(({ key }) => drive[key] as Float32Array | Uint8Array | null);
  return (e) => {
    let worst = Number.NaN;
    for (const array of arrays) {
      if (array === null) return Number.NaN;
      const value = Math.abs(array[e]);
      if (array instanceof Uint8Array && value === NOT_STATED) return Number.NaN;
      if (Number.isNaN(value)) return Number.NaN;
      if (!(sense === 'at-most' ? value <= worst : value >= worst)) worst = value;
    }
    return worst;
  };
}

/** Looks for the extreme and the mean of a quality over all drives. */
export function lookAt(quality: EpochQuality, drives: readonly Drive[]): QualityFound {
  const found: QualityFound = { quality, extreme: null, mean: null, missing: [], unstated: 0 };
  for (const drive of drives) {
    const lacking = quality.columns.filter(({ key }) => drive[key] === null);
    for (const { words } of lacking) found.missing.push({ drive: drive.name, column: words });
    if (lacking.length > 0) continue;
    const value = valueAt(quality, drive);
    for (let e = 0; e < drive.epochs; e++) {
      const v = value(e);
      if (Number.isNaN(v)) {
        found.unstated++;
        continue;
      }
      const worse = quality.sense === 'at-most' ? v > (found.extreme ?? -1) : v < (found.extreme ?? Infinity);
      if (worse) found.extreme = v;
    }
  }
  if (quality.mean) found.mean = meanOf(quality.mean.columns, drives);
  return found;
}

/** Mean over the rows of all drives; of several columns the largest. */
function meanOf(columns: readonly TrajectoryMean[], drives: readonly Drive[]): number | null {
  let largest: number | null = null;
  for (const name of columns) {
    let sum = 0;
    let rows = 0;
    for (const drive of drives) {
      const mean = drive.means[name];
      if (mean === undefined) continue;
      sum += mean * drive.rows;
      rows += drive.rows;
    }
    if (rows > 0 && sum / rows > (largest ?? -1)) largest = sum / rows;
  }
  return largest;
}

/** Whether a value meets a limit. Columns hold numbers of 32 bits, so a value is equal to a limit within their precision. */
export function isWithin(value: number, limit: number, sense: EpochQuality['sense']): boolean {
  const rounding = Math.abs(limit) * 1e-7;
  return sense === 'at-most' ? value <= limit + rounding : value >= limit - rounding;
}

/** Stretches of drives on which a quality is beyond its limit, the worst first. */
export function placesBeyond(quality: EpochQuality, limit: number, drives: readonly Drive[]): Location[] {
  const places: Location[] = [];
  for (const drive of drives) {
    const value = valueAt(quality, drive);
    for (const [from, to] of runsOf(
      drive,
      (e) => !Number.isNaN(value(e)) && !isWithin(value(e), limit, quality.sense),
    )) {
      let worst = from;
      for (let e = from; e < to; e++) {
        if (quality.sense === 'at-most' ? value(e) > value(worst) : value(e) < value(worst)) worst = e;
      }
      const until = drive.time[Math.min(to, drive.epochs - 1)];
      const note = `${quality.words} from ${timeWords(drive.time[from])}, for ${(until - drive.time[from]).toFixed(1)} s`;
      places.push(placeAt(drive, worst, value(worst), quality.unit, note));
    }
  }
  const order = quality.sense === 'at-most' ? -1 : 1;
  return places.sort((a, b) => order * (a.value! - b.value!)).slice(0, 20);
}

/** A chart of a quality along the time of every drive that states it. */
export function chartOf(quality: EpochQuality, limit: number | undefined, drives: readonly Drive[]): Evidence[] {
  const lines = drives
    .filter((drive) => quality.columns.every(({ key }) => drive[key] !== null))
    .map((drive) => {
      const worse = (a: number, b: number) => (quality.sense === 'at-most' ? a > b : a < b);
      return chartLine(drive, drive.name, valueAt(quality, drive), worse);
    });
  if (lines.length === 0) return [];
  const title = `${quality.words.charAt(0).toUpperCase()}${quality.words.slice(1)} along the drive`;
  const along = { title: 'time since the begin of the drive', unit: 's' as const };
  return [{ kind: 'series', title, unit: quality.unit, along, lines, ...(limit === undefined ? {} : { limit }) }];
}

/** The worst of some states. */
export function worstOf(states: readonly State[]): State {
  for (const state of ['fail', 'undetermined'] as const) if (states.includes(state)) return state;
  return 'pass';
}

import { Code } from '../../measure/attributes/code-counts.js';
import {
  type AttributeRule,
  angles,
  classes,
  dayName,
  flagged,
  HAS_TIME,
  isLegacy,
  isReserved,
  isStandardTime,
  NOTHING,
  one,
  periodOf,
  pick,
  returns,
  TIME_NAMES,
  timeShift,
  UNTESTED,
  wholeFile,
} from './attribute-breach.js';

/** Rules decided on the labels of points, file by file. */
export const attributeRules: readonly AttributeRule[] = [
  {
    id: 'class-not-allowed',
    metric: 'classNotAllowed',
    counts: 'points',
    fault: 'a class that is not in `classes`',
    attributes: ['class'],
    look: (found, _, limits) => classes(found, (value) => !limits.classes!.includes(value)),
  },
  {
    id: 'class-reserved',
    metric: 'classReserved',
    counts: 'points',
    fault: 'a class that the standard reserves in their point format',
    attributes: ['class'],
    look: (found, file, limits) =>
      classes(found, (value) => isReserved(value, isLegacy(file)) && limits.classes?.includes(value) !== true),
  },
  {
    id: 'never-classified',
    metric: 'neverClassified',
    counts: 'points',
    fault: 'class 0 (never classified)',
    attributes: ['class'],
    look: (found) => one(found, Code.class, 'class 0'),
  },
  {
    id: 'return-zero',
    metric: 'returnZero',
    counts: 'points',
    fault: 'return number 0 or number of returns 0',
    attributes: ['returns'],
    look: (found) => returns(found, (number, total) => number === 0 || total === 0),
  },
  {
    id: 'return-above-count',
    metric: 'returnAboveCount',
    counts: 'points',
    fault: 'a return number above their number of returns',
    attributes: ['returns'],
    look: (found) => returns(found, (number, total) => total > 0 && number > total),
  },
  {
    id: 'return-above-format',
    metric: 'returnAboveFormat',
    counts: 'points',
    fault: 'more returns than their point format knows (5 in formats 0 to 5)',
    attributes: ['returns'],
    look: (found, file) => (isLegacy(file) ? returns(found, (_, total) => total > 5) : NOTHING),
  },
  {
    id: 'time-missing',
    metric: 'timeMissing',
    counts: 'points',
    fault: 'no GPS time (0, not a number, or a format without it)',
    attributes: ['time'],
    look: (found, file) =>
      HAS_TIME[file.header!.pointFormat]
        ? one(found, Code.timeMissing, 'time 0 or not a number')
        : { count: found.points, first: null, detail: `point format ${file.header!.pointFormat} has no GPS time` },
  },
  {
    id: 'time-type-wrong',
    metric: 'timeTypeWrong',
    counts: 'points',
    fault: 'a GPS time that is not of the type the header states',
    attributes: ['time'],
    look(found, file) {
      if (!HAS_TIME[file.header!.pointFormat]) return UNTESTED;
      const standard = isStandardTime(file);
      const shifted = standard && timeShift(file) !== 1e9;
      const bad = standard
        ? [...(shifted ? [] : [Code.timeOfWeek]), Code.timeImpossible]
        : [Code.timeLater, Code.timeNegative, Code.timeImpossible];
      const said = standard ? 'the header states standard GPS time' : 'the header states seconds of the GPS week';
      return pick(
        found,
        Code.timeMissing,
        Code.colourBlack,
        (k) => bad.some((code) => code === k + Code.timeMissing),
        (k) => `${said}, but ${TIME_NAMES[k]}`,
      );
    },
  },
  {
    id: 'time-outside-period',
    metric: 'timeOutsidePeriod',
    counts: 'files',
    fault: 'a GPS time outside `capturedFrom` and `capturedTo`',
    attributes: ['time'],
    look(found, file, { firstDay, lastDay }) {
      const days = periodOf(found, file);
      if (days === null) return UNTESTED;
      const early = firstDay !== null && days[0] < firstDay;
      const late = lastDay !== null && days[1] > lastDay;
      return wholeFile(early || late, `captured ${dayName(days[0])} to ${dayName(days[1])}`);
    },
  },
  {
    id: 'time-after-creation',
    metric: 'timeAfterCreation',
    counts: 'files',
    fault: 'a GPS time later than the day the file was made',
    attributes: ['time'],
    look(found, file) {
      const { creationYear, creationDay } = file.header!;
      const days = periodOf(found, file);
      if (days === null || creationYear === 0 || creationDay === 0) return UNTESTED;
      const made = Date.UTC(creationYear, 0, creationDay) / 86_400_000;
      // A day of grace: creation days are given in local time by many writers.
      return wholeFile(days[1] > made + 1, `made ${dayName(made)}, last point ${dayName(days[1])}`);
    },
  },
  {
    id: 'angle-outside-format',
    metric: 'angleOutsideFormat',
    counts: 'points',
    fault: 'a scan angle outside the range of their point format',
    attributes: ['angle'],
    // 90 degrees in formats 0 to 5, 30,000 steps of 0.006 degree in formats 6 to 10 (LAS 1.4 R16, scan angle).
    look: (found, file) => angles(found, isLegacy(file) ? 90 : 180),
  },
  {
    id: 'angle-above-limit',
    metric: 'angleAboveLimit',
    counts: 'points',
    fault: 'a scan angle above `maxScanAngle`',
    attributes: ['angle'],
    look: (found, _, { maxScanAngle }) => angles(found, maxScanAngle!),
  },
  {
    id: 'source-id-zero',
    metric: 'sourceIdZero',
    counts: 'points',
    fault: 'point source ID 0',
    attributes: ['source'],
    look: (found) => one(found, Code.sourceZero, 'point source ID 0'),
  },
  {
    id: 'intensity-missing',
    metric: 'intensityMissing',
    counts: 'files',
    fault: 'intensity 0 on all points',
    attributes: ['intensity'],
    look: (found) => wholeFile(found.intensity?.[1] === 0, 'all 0'),
  },
  {
    id: 'intensity-flat',
    metric: 'intensityFlat',
    counts: 'files',
    fault: 'the same intensity, not 0, on all of several points',
    attributes: ['intensity'],
    look: ({ intensity, points }) =>
      wholeFile(
        points > 1 && intensity !== null && intensity[0] === intensity[1] && intensity[1] > 0,
        `all ${intensity?.[1]}`,
      ),
  },
  {
    id: 'intensity-unscaled',
    metric: 'intensityUnscaled',
    counts: 'files',
    fault: 'intensities not stretched to 16 bits',
    attributes: ['intensity'],
    look: ({ intensity }, _, { unscaledIntensity }) =>
      wholeFile(
        intensity !== null && intensity[1] > 0 && intensity[1] <= unscaledIntensity,
        `largest ${intensity?.[1]}`,
      ),
  },
  {
    id: 'colour-missing',
    metric: 'colourMissing',
    counts: 'points',
    fault: 'no colour (all black, or a format without colour)',
    attributes: ['colour'],
    look: (found, file) =>
      found.colourMax === null
        ? { count: found.points, first: null, detail: `point format ${file.header!.pointFormat} has no colour` }
        : one(found, Code.colourBlack, 'red, green and blue 0'),
  },
  {
    id: 'colour-unscaled',
    metric: 'colourUnscaled',
    counts: 'files',
    fault: 'colours not stretched to 16 bits (none above 255)',
    attributes: ['colour'],
    look: ({ colourMax }) =>
      colourMax === null ? UNTESTED : wholeFile(colourMax > 0 && colourMax <= 255, `largest ${colourMax}`),
  },
  {
    id: 'withheld',
    metric: 'withheld',
    counts: 'points',
    fault: 'the withheld flag',
    attributes: [],
    look: (found) => flagged(found, 4, 'withheld'),
  },
  {
    id: 'overlap',
    metric: 'overlap',
    counts: 'points',
    fault: 'the overlap flag (formats 0 to 5: class 12)',
    attributes: ['class'],
    look: (found, file) => (isLegacy(file) ? one(found, Code.class + 12, 'class 12') : flagged(found, 8, 'overlap')),
  },
  {
    id: 'synthetic',
    metric: 'synthetic',
    counts: 'points',
    fault: 'the synthetic flag',
    attributes: [],
    look: (found) => flagged(found, 1, 'synthetic'),
  },
  {
    id: 'outside-area',
    metric: 'outsideArea',
    counts: 'points',
    fault: 'a place outside the zone named by `area`',
    attributes: ['place'],
    look: (found) => one(found, Code.placeOutside, 'outside'),
  },
];

/** An option: its schema, and its part of the sentence that explains the requirement, % for the limit. */
interface Option extends Record<string, unknown> {
  type: 'number' | 'integer';
  description: string;
  words: string;
  unit: string;
}

const positive = (description: string, words: string, unit: string): Option => ({
  type: 'number',
  exclusiveMinimum: 0,
  description,
  words,
  unit,
});
const share = (description: string, words: string): Option => ({
  type: 'number',
  minimum: 0,
  maximum: 1,
  description,
  words,
  unit: 'share',
});

/** The options of trajectory-quality. All are limits. */
const OPTIONS = {
  maxSigmaHorizontal: positive(
    'Largest standard deviation of the position in east or north, metres.',
    'the standard deviation in east and north is at most %',
    ' m',
  ),
  maxMeanSigmaHorizontal: positive(
    'Largest mean standard deviation of the position in east or north, metres.',
    'its mean at most %',
    ' m',
  ),
  maxSigmaHeight: positive(
    'Largest standard deviation of the height, metres.',
    'the standard deviation in height is at most %',
    ' m',
  ),
  maxMeanSigmaHeight: positive('Largest mean standard deviation of the height, metres.', 'its mean at most %', ' m'),
  minSigmaShare: share(
    'Least share of the time in which maxSigmaHorizontal, maxSigmaHeight, maxSigmaRollPitch and maxSigmaHeading, as far as they are given, are met, 0 to 1. Without it they must be met all the time.',
    'these are met in at least % of the time',
  ),
  maxSigmaRollPitch: positive(
    'Largest standard deviation of roll or pitch, degrees.',
    'the standard deviation of roll and pitch is at most %',
    ' degree',
  ),
  maxMeanSigmaRollPitch: positive(
    'Largest mean standard deviation of roll or pitch, degrees.',
    'its mean at most %',
    ' degree',
  ),
  maxSigmaHeading: positive(
    'Largest standard deviation of heading, degrees.',
    'the standard deviation of heading is at most %',
    ' degree',
  ),
  maxMeanSigmaHeading: positive(
    'Largest mean standard deviation of heading, degrees.',
    'its mean at most %',
    ' degree',
  ),
  maxSeparation: positive(
    'Largest difference of the forward and the backward solution in any axis, metres.',
    'the forward and the backward solution differ by at most % in each axis',
    ' m',
  ),
  maxMeanSeparation: positive(
    'Largest mean size of that difference in any axis, metres.',
    'by at most % in the mean',
    ' m',
  ),
  maxPdop: positive('Largest PDOP.', 'PDOP is at most %', ''),
  minSatellites: {
    type: 'integer',
    minimum: 1,
    maximum: 254,
    description: 'Least number of satellites.',
    words: 'at least % satellites are used',
    unit: '',
  } as Option,
  minFixedShare: share(
    'Least share of the time with a fixed solution, 0 to 1.',
    'the solution is fixed in at least % of the time',
  ),
  maxBaseDistance: positive(
    'Largest distance to the reference station, metres.',
    'the reference station is at most % away',
    ' m',
  ),
  maxGap: positive('Longest time between two rows, seconds.', 'there is a row at least every %', ' s'),
  maxJump: positive(
    'Largest change of position beyond what a vehicle can make, metres.',
    'the position jumps by at most % beyond what a vehicle can drive',
    ' m',
  ),
  maxSpeed: positive('Fastest speed, kilometres an hour.', 'the vehicle drives at most %', ' km/h'),
  maxShareAboveSpeed: share(
    'Largest share of the time in which maxSpeed may be exceeded, 0 to 1. Without it, it may never be.',
    'it is faster in at most % of the time',
  ),
  maxPointsWithout: share(
    'Largest share of the points that were recorded in seconds without trajectory, 0 to 1.',
    'at most % of the points have no trajectory at their time',
  ),
  maxSecondsWithoutPoints: positive(
    'Longest time of a drive without a point, between its first and its last point, seconds.',
    'points are recorded with pauses of at most %',
    ' s',
  ),
};

/** The options by name; the compiler knows the names. */
export const qualityOptions: Record<keyof typeof OPTIONS, Option> = OPTIONS;

/** Options that minSigmaShare applies to. */
export const SIGMA_SHARES: readonly string[] = [
  'maxSigmaHorizontal',
  'maxSigmaHeight',
  'maxSigmaRollPitch',
  'maxSigmaHeading',
];

/** The options as JSON Schema. */
export function optionSchemas(): Record<string, Record<string, unknown>> {
  return Object.fromEntries(
    Object.entries(qualityOptions).map(([name, { words: _, unit: __, ...schema }]) => [name, schema]),
  );
}

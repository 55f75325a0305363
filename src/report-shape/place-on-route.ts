import type { KeyShape } from './shape.js';

const ABSENT =
  'neither a route nor a trajectory was given, or the place is beyond the ends of their lines or more than 200 m from them';

/**
 * Keys of a place along the planned route; without a route, along the drives of the vehicle. They are filled at one place, in
 * src/assemble/stationing.ts.
 */
export const placeOnRoute = {
  line: {
    type: 'string',
    means: 'Line of the route that is nearest; without a route, the drive.',
    absentWhen: ABSENT,
  },
  station: {
    type: 'number',
    unit: 'm',
    means: 'Station on the line after its equations; on a drive, the distance driven.',
    absentWhen: ABSENT,
  },
  stationLabel: { type: 'string', means: 'The station as it is written.', absentWhen: ABSENT },
  offset: {
    type: 'number',
    unit: 'm',
    means: 'Horizontal distance from the line, right of it positive, left negative.',
    absentWhen: ABSENT,
  },
} as const satisfies Record<string, KeyShape>;

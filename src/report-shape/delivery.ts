import { grid } from './evidence.js';
import type { ObjectShape, ValueOf } from './shape.js';

/** What was handed over, as a whole. */
export const delivery = {
  type: 'object',
  means: 'What was handed over.',
  keys: {
    files: { type: 'integer', min: 0, unit: 'count', means: 'Number of files.' },
    points: { type: 'integer', min: 0, unit: 'count', means: 'Number of points that were read.' },
    bytes: { type: 'integer', min: 0, unit: 'bytes', means: 'Size of all files.' },
    extent: {
      type: 'list',
      of: { type: 'number', unit: 'm' },
      entries: ['minX', 'minY', 'minZ', 'maxX', 'maxY', 'maxZ'],
      means: 'Extent of the points.',
      nullWhen: 'no point was read',
    },
    area: {
      type: 'number',
      unit: 'm2',
      means: 'Horizontal area of the cells of the overview that hold a point.',
      nullWhen: 'no point was read',
    },
    captured: {
      type: 'object',
      means: 'First and last GPS time (no leap seconds), as YYYY-MM-DDThh:mm:ss.',
      nullWhen: 'no time was read or the times count from an unknown day',
      keys: {
        from: { type: 'string', means: 'Earliest.' },
        to: { type: 'string', means: 'Latest.' },
      },
    },
    written: {
      type: 'object',
      means: 'First and last day on which the files say they were written, as YYYY-MM-DD.',
      nullWhen: 'no file states it',
      keys: {
        from: { type: 'string', means: 'Earliest.' },
        to: { type: 'string', means: 'Latest.' },
      },
    },
    crs: {
      type: 'object',
      means: 'Coordinate system of the delivery.',
      keys: {
        horizontal: {
          type: 'string',
          means: 'Horizontal system: its code, such as EPSG:25832, or its name.',
          nullWhen: 'not stated',
        },
        vertical: { type: 'string', means: 'Vertical system: its code or its name.', nullWhen: 'not stated' },
        unit: { type: 'string', means: 'Unit of the coordinates of the cloud.', nullWhen: 'not stated' },
        metresPerUnit: {
          type: 'number',
          unit: 'm/unit',
          means:
            'Metres in one unit of the horizontal coordinates of the cloud; coordinates in this report are in metres.',
          nullWhen: 'not stated',
        },
        wkt: {
          type: 'string',
          means: 'Well-known text of the horizontal system alone, as the files state it.',
          nullWhen: 'not stated',
        },
      },
    },
    passesBy: { type: 'string', means: 'How points belong to passes.' },
    unreadable: {
      type: 'integer',
      min: 0,
      unit: 'count',
      means: 'Number of files that could not be read to the end.',
    },
    classes: {
      type: 'list',
      means: 'Points by class, withheld ones included.',
      of: {
        type: 'object',
        means: 'A class.',
        keys: {
          class: { type: 'integer', min: 0, unit: 'none', means: 'Class code, 0 to 255.' },
          points: { type: 'integer', min: 0, unit: 'count', means: 'Points of the class.' },
        },
      },
    },
    returns: {
      type: 'list',
      means: 'Points by return number, withheld ones included.',
      of: {
        type: 'object',
        means: 'A return number.',
        keys: {
          number: { type: 'integer', min: 0, unit: 'none', means: 'Return number, 0 to 15.' },
          points: { type: 'integer', min: 0, unit: 'count', means: 'Points with this return number.' },
        },
      },
    },
    pulses: {
      type: 'list',
      means: 'Points by the number of returns of their pulse, withheld ones included.',
      of: {
        type: 'object',
        means: 'A number of returns.',
        keys: {
          returns: { type: 'integer', min: 0, unit: 'count', means: 'Returns of the pulse, 0 to 15.' },
          points: { type: 'integer', min: 0, unit: 'count', means: 'Points of such pulses.' },
        },
      },
    },
  },
} as const satisfies ObjectShape;

/** The whole delivery in cells of one size. */
export const overview = {
  type: 'object',
  means: 'The whole delivery in cells of one size, whatever the spec asks for.',
  keys: {
    density: {
      type: 'reference',
      of: grid,
      means: 'Points per square metre of all passes and returns, withheld ones left out.',
      nullWhen: 'no point was read',
    },
    passes: {
      type: 'reference',
      of: grid,
      means: 'Which passes have points in a cell: values are places in passSets, from 0.',
      nullWhen: 'no point was read',
    },
    passSets: {
      type: 'list',
      of: { type: 'list', of: { type: 'integer', min: -1, unit: 'none' } },
      means:
        "Sets of passes that have points in the same cell; each entry is a list of places in the report's list of passes, from 0.",
    },
  },
} as const satisfies ObjectShape;

/** A zone. */
export const zone = {
  type: 'object',
  means: 'A zone.',
  keys: {
    name: { type: 'string', means: 'Name of the zone.' },
    polygons: {
      type: 'list',
      means: 'Its polygons.',
      of: {
        type: 'object',
        means: 'A polygon.',
        keys: {
          outer: { type: 'list', of: { type: 'number', unit: 'm' }, means: 'Closed outer ring: x, y, x, y ...' },
          holes: {
            type: 'list',
            of: { type: 'list', of: { type: 'number', unit: 'm' } },
            means: 'Closed rings of the holes: x, y, x, y ...',
          },
        },
      },
    },
  },
} as const satisfies ObjectShape;

export type Overview = ValueOf<typeof overview>;

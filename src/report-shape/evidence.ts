import { placeOnRoute } from './place-on-route.js';
import type { ObjectShape, ValueOf } from './shape.js';
import { LIMIT_SENSES, UNITS } from './words.js';

/** A place in the cloud where something is wrong. */
export const location = {
  type: 'object',
  name: 'location',
  means: 'A place in the cloud.',
  keys: {
    x: { type: 'number', unit: 'm', means: 'Easting or x in the coordinate system of the cloud.' },
    y: { type: 'number', unit: 'm', means: 'Northing or y in the coordinate system of the cloud.' },
    z: {
      type: 'number',
      unit: 'm',
      means: 'Height in the vertical system of the cloud.',
      absentWhen: 'the place has no height',
    },
    ...placeOnRoute,
    file: { type: 'string', means: 'File of the delivery.', absentWhen: 'no single file is concerned' },
    pass: { type: 'string', means: 'Pass, or pair of passes.', absentWhen: 'no pass is concerned' },
    value: { type: 'number', unitIn: 'unit', means: 'What was measured there.', nullWhen: 'there is no number' },
    unit: { type: 'choice', words: UNITS, means: 'Unit of the value.' },
    note: { type: 'string', means: 'What is wrong there.' },
  },
} as const satisfies ObjectShape;

/** Column of a table of evidence. */
const column = {
  type: 'object',
  means: 'A column.',
  keys: {
    key: { type: 'string', means: 'Name for scripts.' },
    title: { type: 'string', means: 'Heading.' },
    unit: {
      type: 'choice',
      words: UNITS,
      means: 'Unit of the numbers in the column.',
      absentWhen: 'the column holds text or numbers without a unit',
    },
  },
} as const satisfies ObjectShape;

/** Evidence in rows. */
export const table = {
  type: 'object',
  name: 'table',
  means: 'A table.',
  keys: {
    title: { type: 'string', means: 'What the table shows.' },
    columns: { type: 'list', of: column, means: 'Columns, from left to right.' },
    rows: {
      type: 'list',
      of: { type: 'list', of: { type: 'field', unitIn: 'columns' } },
      means: 'Rows, each with one entry for each column; numbers are in the unit of their column.',
    },
  },
} as const satisfies ObjectShape;

/** Counts in classes. */
export const histogram = {
  type: 'object',
  name: 'histogram',
  means: 'A histogram.',
  keys: {
    title: { type: 'string', means: 'What was counted.' },
    unit: { type: 'choice', words: UNITS, means: 'Unit of the edges, of the normal curve and of the limit.' },
    edges: {
      type: 'list',
      of: { type: 'number', unitIn: 'unit' },
      means: 'Edges of the classes, ascending; one more than there are counts.',
    },
    counts: { type: 'list', of: { type: 'integer', min: 0, unit: 'count' }, means: 'Number in each class.' },
    normal: {
      type: 'object',
      means: 'Normal curve to draw over the counts.',
      nullWhen: 'none is drawn',
      keys: {
        mean: { type: 'number', unitIn: 'unit', means: 'Mean.' },
        std: { type: 'number', unitIn: 'unit', means: 'Standard deviation.' },
        nmad: { type: 'number', unitIn: 'unit', means: 'Normalised median absolute deviation.' },
      },
    },
    limit: { type: 'number', unitIn: 'unit', means: 'Value to mark.', nullWhen: 'there is none' },
    sense: {
      type: 'choice',
      words: LIMIT_SENSES,
      means: 'Side of the limit on which values are good.',
      nullWhen: 'there is no limit',
    },
  },
} as const satisfies ObjectShape;

/** Single differences by name. */
export const residuals = {
  type: 'object',
  name: 'residuals',
  means: 'Single differences by name, with the figures that judge them.',
  keys: {
    title: { type: 'string', means: 'What differs.' },
    unit: { type: 'choice', words: UNITS, means: 'Unit of all values.' },
    items: {
      type: 'list',
      means: 'The differences.',
      of: {
        type: 'object',
        means: 'A difference.',
        keys: {
          label: { type: 'string', means: 'Name, such as the id of a survey point.' },
          value: { type: 'number', unitIn: 'unit', means: 'The difference.' },
          group: {
            type: 'choice',
            words: ['used', 'control', 'blunder'],
            means:
              'used: part of the figures; control: a control point, which is only listed; blunder: left out of the figures.',
          },
        },
      },
    },
    mean: { type: 'number', unitIn: 'unit', means: 'Mean of the differences used.', nullWhen: 'none is used' },
    rms: {
      type: 'number',
      unitIn: 'unit',
      means: 'Root mean square of the differences used; the accuracy of the survey is included where it is known.',
      nullWhen: 'none is used',
    },
    interval: {
      type: 'list',
      of: { type: 'number', unitIn: 'unit' },
      entries: ['low', 'high'],
      means: 'Confidence interval of rms, 95 %.',
      nullWhen: 'there is none',
    },
    limit: { type: 'number', unitIn: 'unit', means: 'Limit of rms.', nullWhen: 'there is none' },
  },
} as const satisfies ObjectShape;

/** Values along time or distance. */
export const series = {
  type: 'object',
  name: 'series',
  means: 'Values along time or distance.',
  keys: {
    title: { type: 'string', means: 'What is shown.' },
    unit: { type: 'choice', words: UNITS, means: 'Unit of y and of the limit.' },
    along: {
      type: 'object',
      means: 'The axis along which values are shown.',
      keys: {
        title: { type: 'string', means: 'What x is.' },
        unit: { type: 'choice', words: UNITS, means: 'Unit of x.' },
      },
    },
    lines: {
      type: 'list',
      means: 'The lines.',
      of: {
        type: 'object',
        means: 'A line.',
        keys: {
          name: { type: 'string', means: 'Name, such as a pass.' },
          x: { type: 'list', of: { type: 'number', unitIn: 'along.unit' }, means: 'Positions, ascending.' },
          y: {
            type: 'list',
            of: { type: 'number', unitIn: 'unit', nullWhen: 'the line is interrupted there' },
            means: 'Values, one for each position.',
          },
        },
      },
    },
    limit: {
      type: 'number',
      unitIn: 'unit',
      means: 'Limit on both sides of zero, or on the one that sense names.',
      nullWhen: 'there is none',
    },
    sense: {
      type: 'choice',
      words: LIMIT_SENSES,
      means: 'Side of the limit on which values are good.',
      absentWhen: 'the limit is on both sides of zero',
    },
  },
} as const satisfies ObjectShape;

/** Values of square cells. */
export const grid = {
  type: 'object',
  name: 'grid',
  means:
    'Values of square cells. To read data: decode base64 (RFC 4648) and inflate it (zlib, RFC 1950). It holds four lists of whole numbers one after the other: row steps (as many as runs, 4 bytes each), column steps (as many as runs, 4 bytes each), lengths (as many as runs, 4 bytes each) and values (as many as cells, `bytes` bytes each). A list begins with the lowest byte of each of its numbers, followed by the second lowest byte of each, and so on. Each number n is zigzag coded: an even code c means c / 2, an odd one -(c + 1) / 2. A run is a row of neighbouring cells: its row is the row of the run before plus the row step; its first column is the column after the last one of the run before plus the column step (both start from 0). The values of the cells follow in the same order and are multiplied by step.',
  keys: {
    title: { type: 'string', means: 'What is shown.' },
    unit: { type: 'choice', words: UNITS, means: 'Unit of the values.' },
    cell: {
      type: 'number',
      unit: 'm',
      above: 0,
      means:
        'Edge of a cell: column and row are floor(world / cell), so a cell extends from column * cell to (column + 1) * cell.',
    },
    mergedFrom: {
      type: 'number',
      unit: 'm',
      means:
        'Edge of the cells as they were measured; when there are too many, they are merged, and each shows the worst of its values.',
      nullWhen: 'they were not merged',
    },
    signed: {
      type: 'boolean',
      means: 'True where values lie on both sides of zero; the limit then applies to both sides.',
    },
    limit: { type: 'number', unitIn: 'unit', means: 'Limit of the values.', nullWhen: 'there is none' },
    sense: {
      type: 'choice',
      words: LIMIT_SENSES,
      means: 'Side of the limit on which values are good.',
      nullWhen: 'there is no limit',
    },
    cells: { type: 'integer', min: 0, unit: 'count', means: 'Number of cells.' },
    runs: { type: 'integer', min: 0, unit: 'count', means: 'Number of runs of neighbouring cells.' },
    step: { type: 'number', unitIn: 'unit', above: 0, means: 'A value is this times its whole number in data.' },
    bytes: { type: 'integer', min: 1, max: 4, unit: 'bytes', means: 'Length of a value in data.' },
    data: { type: 'string', encoding: 'base64', means: 'The cells, coded as described above.' },
  },
} as const satisfies ObjectShape;

/** A sample of the points around one place. */
export const section = {
  type: 'object',
  name: 'section',
  means:
    'The points around one place, as a random sample. data is coded as in a grid and holds four lists of `points` numbers of 4 bytes: east, north and up of each point, in steps of 0.1 mm from the centre, and the index of its pass in passes. The first k points are a random sample as well.',
  keys: {
    title: { type: 'string', means: 'What is shown.' },
    surveyPoint: { type: 'string', means: 'Id of the survey point at the centre.', nullWhen: 'there is none' },
    x: { type: 'number', unit: 'm', means: 'Easting or x of the centre.' },
    y: { type: 'number', unit: 'm', means: 'Northing or y of the centre.' },
    z: { type: 'number', unit: 'm', means: 'Height of the centre: that of the survey point where there is one.' },
    reach: {
      type: 'number',
      unit: 'm',
      above: 0,
      means: 'Horizontal radius around the centre within which points are shown.',
    },
    plane: {
      type: 'object',
      means: 'Plane fitted to the cloud.',
      nullWhen: 'none was fitted',
      keys: {
        height: { type: 'number', unit: 'm', means: 'Height of the plane at the centre, above z.' },
        slopeX: { type: 'number', unit: 'm/m', means: 'Slope along x.' },
        slopeY: { type: 'number', unit: 'm/m', means: 'Slope along y.' },
      },
    },
    passes: { type: 'list', of: { type: 'string' }, means: 'Passes of the points.' },
    found: { type: 'integer', min: 0, unit: 'count', means: 'Points within the radius.' },
    points: { type: 'integer', min: 0, unit: 'count', means: 'Points in data.' },
    data: { type: 'string', encoding: 'base64', means: 'The points, coded as described above.' },
  },
} as const satisfies ObjectShape;

export type LocationResult = ValueOf<typeof location>;
export type TableResult = ValueOf<typeof table>;
export type HistogramResult = ValueOf<typeof histogram>;
export type ResidualResult = ValueOf<typeof residuals>;
export type SeriesResult = ValueOf<typeof series>;
/** How `data` is coded: src/report/grid-code.ts. */
export type GridResult = ValueOf<typeof grid>;
/** How `data` is coded: src/report/section-code.ts. */
export type SectionResult = ValueOf<typeof section>;

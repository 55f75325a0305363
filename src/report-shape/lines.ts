import { placeOnRoute } from './place-on-route.js';
import type { ObjectShape, ValueOf } from './shape.js';

/** One pair of passes: a line that a check returns, and a line of report.json and of pass-pairs.csv. */
export const passPair = {
  type: 'object',
  name: 'passPair',
  means: 'How two passes agree where they overlap.',
  keys: {
    a: { type: 'string', means: 'First pass.' },
    b: { type: 'string', means: 'Second pass.' },
    cells: { type: 'integer', min: 0, unit: 'count', means: 'Number of places where the two passes were compared.' },
    overlapArea: { type: 'number', unit: 'm2', min: 0, means: 'Area of ground with points of both passes.' },
    comparedArea: {
      type: 'number',
      unit: 'm2',
      min: 0,
      means: 'Part of that area on which surfaces of the two passes were compared.',
    },
    comparedShare: {
      type: 'number',
      unit: 'share',
      min: 0,
      means: 'Compared area divided by the area with points of both passes.',
      nullWhen: 'no ground has points of both passes',
    },
    meanDz: {
      type: 'number',
      unit: 'm',
      means: 'Mean height difference, second pass minus first.',
      nullWhen: 'no place could be compared',
    },
    rmsDz: {
      type: 'number',
      unit: 'm',
      min: 0,
      means: 'Root mean square of the height differences.',
      nullWhen: 'no place could be compared',
    },
    maxDz: {
      type: 'number',
      unit: 'm',
      means: 'Largest height difference.',
      nullWhen: 'no place could be compared',
    },
    shift: {
      type: 'list',
      of: { type: 'number', unit: 'm', nullWhen: 'the surfaces do not constrain the shift along that axis' },
      entries: ['x', 'y', 'z'],
      means: 'Shift of the second pass against the first.',
    },
    shiftStd: {
      type: 'list',
      of: { type: 'number', unit: 'm', nullWhen: 'the surfaces do not constrain the shift along that axis' },
      entries: ['x', 'y', 'z'],
      means: 'Standard deviation of the shift.',
      csv: ['shift_x_std', 'shift_y_std', 'shift_z_std'],
    },
    observable: {
      type: 'list',
      of: { type: 'boolean' },
      entries: ['x', 'y', 'z'],
      means: 'Whether the surfaces constrain the shift along the axis.',
    },
    directions: {
      type: 'list',
      of: {
        type: 'object',
        means: 'One direction in which the surfaces constrain the shift.',
        keys: {
          name: {
            type: 'choice',
            words: ['along', 'across', 'up', 'horizontal', 'inclined'],
            means:
              'Along or across the road where one stands out, up, another horizontal direction, or an inclined one.',
          },
          direction: {
            type: 'list',
            of: { type: 'number', unit: 'none' },
            entries: ['x', 'y', 'z'],
            means: 'Unit vector.',
          },
          shift: { type: 'number', unit: 'm', means: 'Shift of the second pass against the first along it.' },
          std: { type: 'number', unit: 'm', min: 0, means: 'Standard deviation of that shift.' },
        },
      },
      means:
        'The shift in perpendicular directions that the surfaces constrain, also where these are not the axes of the grid; nothing of a hidden direction is part of them.',
      absentWhen: 'the surfaces constrain no direction, or only heights of cells were compared',
    },
  },
} as const satisfies ObjectShape;

/** One pass at one survey point. */
export const surveyPointPass = {
  type: 'object',
  means: 'One pass at this survey point.',
  keys: {
    pass: { type: 'string', means: 'Pass.' },
    dz: {
      type: 'number',
      unit: 'm',
      means: 'Height of the pass minus surveyed height.',
      nullWhen: 'the pass has no surface there, or only horizontal coordinates were compared',
    },
    n: { type: 'integer', min: 0, unit: 'count', means: 'Points of the pass that were used.' },
  },
} as const satisfies ObjectShape;

/** One survey point: a line that a check returns, and a line of report.json and of survey-points.csv. */
export const surveyPoint = {
  type: 'object',
  name: 'surveyPoint',
  means: 'One survey point compared with the cloud.',
  keys: {
    id: { type: 'string', means: 'Id of the point in the file of survey points.' },
    role: {
      type: 'choice',
      words: ['control', 'check'],
      means: 'Check points are judged; control points are only listed.',
    },
    x: { type: 'number', unit: 'm', means: 'Surveyed easting or x.' },
    y: { type: 'number', unit: 'm', means: 'Surveyed northing or y.' },
    z: { type: 'number', unit: 'm', means: 'Surveyed height.' },
    ...placeOnRoute,
    dz: {
      type: 'number',
      unit: 'm',
      means: 'Height of the cloud minus surveyed height.',
      nullWhen: 'the height of the cloud could not be measured there',
    },
    dx: {
      type: 'number',
      unit: 'm',
      means: 'x of the cloud minus surveyed x.',
      nullWhen: 'it could not be measured, or several requirements compare the point and all of them in height only',
      absentWhen: 'a single requirement compares the point, and in height only',
    },
    dy: {
      type: 'number',
      unit: 'm',
      means: 'y of the cloud minus surveyed y.',
      nullWhen: 'it could not be measured, or several requirements compare the point and all of them in height only',
      absentWhen: 'a single requirement compares the point, and in height only',
    },
    dxStd: {
      type: 'number',
      unit: 'm',
      means: 'Standard deviation of dx, from the fit of the target to the brightness of the cloud.',
      absentWhen: 'the place was not found by a target',
    },
    dyStd: {
      type: 'number',
      unit: 'm',
      means: 'Standard deviation of dy, from the fit of the target to the brightness of the cloud.',
      absentWhen: 'the place was not found by a target',
    },
    surfaces: {
      type: 'list',
      of: { type: 'number', unit: 'm' },
      means:
        'Surfaces of the cloud that lie one above another there, from below: about how far each is above the surveyed height. dz is that of the nearest one.',
      absentWhen: 'there is only one',
    },
    n: { type: 'integer', min: 0, unit: 'count', means: 'Points of the cloud that were used.' },
    method: { type: 'string', means: 'How the cloud was measured at the point.' },
    perPass: { type: 'list', of: surveyPointPass, means: 'The same comparison for each pass alone.' },
    status: {
      type: 'choice',
      words: ['used', 'blunder', 'no-data', 'no-target', 'outside'],
      means:
        'used: part of the figures; blunder: listed, and left out of the figures; no-data: no cloud there; no-target: its target was not found in the cloud; outside: outside the files of the delivery.',
    },
  },
} as const satisfies ObjectShape;

/** One file of the delivery. */
export const file = {
  type: 'object',
  name: 'file',
  means: 'One file of the delivery.',
  keys: {
    file: { type: 'string', means: 'Name relative to the folder of the delivery, or its address.' },
    bytes: { type: 'integer', min: 0, unit: 'bytes', means: 'Size of the file.' },
    packing: { type: 'string', means: 'LAS, LAZ or COPC.', nullWhen: 'the header could not be read' },
    version: {
      type: 'string',
      means: 'Version of the LAS format, such as 1.4.',
      nullWhen: 'the header could not be read',
    },
    pointFormat: {
      type: 'integer',
      min: 0,
      unit: 'none',
      means: 'Point data record format.',
      nullWhen: 'the header could not be read',
    },
    points: {
      type: 'integer',
      min: 0,
      unit: 'count',
      means: 'Points that the header states; 0 when it could not be read.',
    },
    read: {
      type: 'integer',
      min: 0,
      unit: 'count',
      means: 'Points that a quick look at a share of the points (--sample) reads.',
      absentWhen: 'all points are read',
      csv: [],
    },
    extent: {
      type: 'list',
      of: { type: 'number', unit: 'm' },
      entries: ['minX', 'minY', 'minZ', 'maxX', 'maxY', 'maxZ'],
      means: 'Extent that the header states.',
      nullWhen: 'the header could not be read or states no points',
      csv: [],
    },
    fault: {
      type: 'string',
      means: 'Why the file could not be read to the end.',
      nullWhen: 'it was read to the end',
    },
    leftOut: {
      type: 'integer',
      min: 1,
      unit: 'count',
      means: 'Points of damaged chunks, which are left out of every figure.',
      absentWhen: 'there are none',
      csv: [],
    },
  },
} as const satisfies ObjectShape;

/** One pass. */
export const pass = {
  type: 'object',
  means: 'A pass.',
  keys: {
    pass: { type: 'string', means: 'Name of the pass in this report.' },
    points: { type: 'integer', min: 0, unit: 'count', means: 'Points of the pass.' },
  },
} as const satisfies ObjectShape;

/** One thing that a reader of the report must know and that belongs to no requirement. */
export const finding = {
  type: 'object',
  means: 'A finding, such as an unreadable file or input that was left out.',
  keys: {
    severity: { type: 'choice', words: ['error', 'warning', 'note'], means: 'How serious it is.' },
    code: { type: 'string', means: 'Fixed name of the kind of finding, in kebab case.' },
    file: { type: 'string', means: 'File concerned.', absentWhen: 'no single file is concerned' },
    text: { type: 'string', means: 'What was found, in one sentence.' },
    chunk: {
      type: 'object',
      means: 'The damaged chunk of a compressed file that the finding describes.',
      absentWhen: 'the finding describes no chunk',
      keys: {
        number: { type: 'integer', min: 1, unit: 'none', means: 'Number of the chunk in the file, from 1.' },
        firstPoint: { type: 'integer', min: 1, unit: 'none', means: 'Number of its first point in the file, from 1.' },
        points: {
          type: 'integer',
          min: 1,
          unit: 'count',
          means: 'Points in the chunk, all left out of every figure.',
        },
        firstByte: {
          type: 'integer',
          min: 0,
          unit: 'none',
          means: 'Number of the byte of the file at which the chunk begins, from 0.',
        },
        bytes: { type: 'integer', min: 0, unit: 'bytes', means: 'Length of the chunk.' },
        guard: {
          type: 'choice',
          words: ['coding', 'place', 'times', 'order', 'returns'],
          means:
            'What shows the damage: the coding itself; or coordinates, GPS times, their order or return numbers that contradict the header and the other chunks.',
        },
      },
    },
  },
} as const satisfies ObjectShape;

export type PassPairLine = ValueOf<typeof passPair>;
export type SurveyPointLine = ValueOf<typeof surveyPoint>;
export type FileResult = ValueOf<typeof file>;
export type Finding = ValueOf<typeof finding>;

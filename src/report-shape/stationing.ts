import type { ObjectShape } from './shape.js';
import { LIMIT_SENSES, UNITS } from './words.js';

/** What stations in the report count along. */
export const stationing = {
  type: 'object',
  name: 'stationing',
  means: 'What stations and offsets in this report are measured along.',
  keys: {
    by: {
      type: 'choice',
      words: ['route', 'distance-driven'],
      means: 'route: stations of the planned route; distance-driven: metres along the drives of the vehicle.',
    },
    sectionMetres: { type: 'number', unit: 'm', above: 0, means: 'Length of the sections in `sections`.' },
    lines: {
      type: 'list',
      means: 'The lines.',
      of: {
        type: 'object',
        means: 'A line.',
        keys: {
          line: { type: 'string', means: 'Name of the line, or of the drive.' },
          length: { type: 'number', unit: 'm', min: 0, means: 'Length along the line.' },
          from: { type: 'string', means: 'Station of its begin.' },
          to: { type: 'string', means: 'Station of its end.' },
          direction: {
            type: 'choice',
            words: ['along', 'against', 'both'],
            means: 'Direction in which it is to be driven.',
            nullWhen: 'not stated',
          },
          lanes: { type: 'integer', min: 1, unit: 'count', means: 'Number of lanes.', nullWhen: 'not stated' },
          plannedPasses: { type: 'integer', min: 1, unit: 'count', means: 'Planned passes.', nullWhen: 'not stated' },
        },
      },
    },
  },
} as const satisfies ObjectShape;

/** One requirement in one section of the route: a line of report.json and of sections.csv. */
export const section = {
  type: 'object',
  name: 'routeSection',
  means: 'One requirement in one section of a line of the route.',
  keys: {
    requirement: { type: 'string', means: 'Id of the requirement.' },
    line: { type: 'string', means: 'Line of the route.' },
    from: { type: 'string', means: 'Station of the begin of the section.' },
    to: { type: 'string', means: 'Station of its end.' },
    fromDistance: { type: 'number', unit: 'm', min: 0, means: 'Begin of the section, from the begin of the line.' },
    toDistance: { type: 'number', unit: 'm', min: 0, means: 'End of the section, from the begin of the line.' },
    result: {
      type: 'choice',
      words: ['met', 'not met', 'not judged'],
      means:
        'met: the evidence of the requirement covers the section and keeps the limit in it; not met: something in the section does not keep the limit; not judged: the evidence does not cover the section.',
    },
    value: {
      type: 'number',
      unitIn: 'unit',
      means: 'Worst value of the section, or the figure of its values that `figure` names.',
      nullWhen: 'the section has no value',
    },
    limit: { type: 'number', unitIn: 'unit', means: 'What the value is held against.' },
    sense: { type: 'choice', words: LIMIT_SENSES, means: 'Side of the limit on which the value is good.' },
    unit: { type: 'choice', words: UNITS, means: 'Unit of value and limit.' },
    figure: { type: 'string', means: 'What the value is, in words.' },
    count: { type: 'integer', min: 0, unit: 'count', means: 'Values in the section: cells or survey points.' },
    covered: {
      type: 'number',
      unit: 'share',
      min: 0,
      means: 'Share of the length of the section that has values, in tenths.',
    },
  },
} as const satisfies ObjectShape;

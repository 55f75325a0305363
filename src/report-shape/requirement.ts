import { grid, histogram, location, residuals, section, series, table } from './evidence.js';
import type { ObjectShape, ValueOf } from './shape.js';
import { statement } from './statement.js';
import { LIMIT_SENSES, QUALITY_ELEMENTS, STATES, UNITS } from './words.js';

/** A likely cause, with the figures that led to it. */
const cause = {
  type: 'object',
  means: 'A likely cause.',
  keys: {
    rule: { type: 'string', means: 'Id of the rule of advice, in kebab case.' },
    title: { type: 'string', means: 'The cause in a few words.' },
    text: { type: 'string', means: 'What was seen and what to look at, one or two sentences.' },
    figures: {
      type: 'list',
      means: 'The figures that led to it.',
      of: {
        type: 'object',
        means: 'A figure.',
        keys: {
          name: { type: 'string', means: 'Name of the figure.' },
          value: { type: 'number', unitIn: 'unit', means: 'Its value.', nullWhen: 'it could not be determined' },
          unit: { type: 'choice', words: UNITS, means: 'Unit of the value; share is also the unit of ratios.' },
        },
      },
    },
  },
} as const satisfies ObjectShape;

/** The verdict on one requirement. */
export const requirement = {
  type: 'object',
  name: 'requirement',
  means: 'The verdict on one requirement of the acceptance spec, with its evidence.',
  keys: {
    id: { type: 'string', means: 'Id of the requirement in the spec.' },
    check: { type: 'string', means: 'Name of the check, in kebab case.' },
    title: { type: 'string', means: 'What is judged, in a few words.' },
    why: { type: 'string', means: 'What goes wrong in later work when the requirement is not met.' },
    level: {
      type: 'choice',
      words: ['mandatory', 'advisory'],
      means: 'mandatory: part of the verdict on the delivery; advisory: only reported.',
    },
    decision: {
      type: 'choice',
      words: ['simple', 'guarded'],
      means:
        'How a figure is compared with its limit: simple: by its value; guarded: by the bound of its confidence interval.',
    },
    zone: {
      type: 'string',
      means: 'Name of the zone that the requirement is confined to.',
      nullWhen: 'it applies to the whole delivery',
    },
    verdict: {
      type: 'choice',
      words: STATES,
      means:
        'pass: met; fail: not met; undetermined: neither could be shown; not-applicable: there was nothing to judge.',
    },
    summary: { type: 'string', means: 'One sentence: what was found, and what the requirement asks for.' },
    measured: {
      type: 'map',
      of: { type: 'number', unitIn: 'units', nullWhen: 'it could not be determined' },
      means: 'Measured figures by name.',
    },
    limits: {
      type: 'map',
      of: { type: 'number', unitIn: 'units', nullWhen: 'it could not be determined' },
      means: 'Limits by the name of the figure.',
    },
    senses: {
      type: 'map',
      of: { type: 'choice', words: LIMIT_SENSES },
      means: 'Side of each limit on which the figure is good.',
    },
    labels: {
      type: 'map',
      of: { type: 'string' },
      means: 'Each name in measured and limits in words, as the tables of the report show it.',
    },
    units: {
      type: 'map',
      of: { type: 'choice', words: UNITS },
      means: 'Unit of each name in measured and limits; a share is 0 to 1.',
    },
    quality: {
      type: 'choice',
      words: QUALITY_ELEMENTS,
      means: 'Class of data quality element of ISO 19157:2013 that the figures describe.',
      nullWhen: 'none fits',
    },
    advice: {
      type: 'list',
      of: { type: 'string' },
      means: 'What to do so that the requirement can be met or judged, one or two sentences an entry.',
    },
    causes: {
      type: 'list',
      of: cause,
      means: 'Likely causes that rules of advice find in the figures, the likeliest first; they are not a verdict.',
    },
    statement: {
      type: 'reference',
      of: statement,
      means: 'The accuracy, stated as the standard prescribes.',
      absentWhen: 'the requirement names no standard, or no accuracy was found',
    },
    locations: { type: 'list', of: location, means: 'Where to look, the worst place first.' },
    tables: { type: 'list', of: table, means: 'Evidence in rows.' },
    histograms: { type: 'list', of: histogram, means: 'Evidence as counts in classes.' },
    residuals: { type: 'list', of: residuals, means: 'Evidence as single differences.' },
    series: { type: 'list', of: series, means: 'Evidence as values along time or distance.' },
    grids: { type: 'list', of: grid, means: 'Evidence as maps.' },
    sections: {
      type: 'list',
      of: section,
      means: 'Points close up, around survey points and where the requirement fails.',
    },
  },
} as const satisfies ObjectShape;

export type RequirementResult = ValueOf<typeof requirement>;

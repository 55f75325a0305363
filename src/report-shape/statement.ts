import type { ObjectShape, ValueOf } from './shape.js';

/** An accuracy, stated as a standard prescribes: what a standard in src/checks/standards returns, as report.json has it. */
export const statement = {
  type: 'object',
  name: 'statement',
  means: 'The accuracy, stated as the standard named in the requirement prescribes.',
  keys: {
    standard: { type: 'string', means: 'Name of the standard in the spec.' },
    title: { type: 'string', means: 'Title of the standard.' },
    sentence: { type: 'string', means: 'The sentences to quote, in the form that the standard prescribes.' },
    claimed: {
      type: 'boolean',
      means: 'Whether the sentences claim that the standard is met; they do so only when departures is empty.',
    },
    class: {
      type: 'string',
      means: 'Smallest class, level or category that the figures meet.',
      nullWhen: 'the standard has none or none is met',
    },
    count: {
      type: 'object',
      means: 'Number of check points.',
      keys: {
        found: { type: 'integer', min: 0, unit: 'count', means: 'Check points used.' },
        asked: { type: 'integer', min: 0, unit: 'count', means: 'Check points that are required.' },
        met: { type: 'boolean', means: 'Whether there are enough.' },
      },
    },
    spread: {
      type: 'object',
      means: 'Distribution of the check points over the area.',
      keys: {
        leastShare: {
          type: 'number',
          unit: 'share',
          min: 0,
          means: 'Smallest share of the points in one quarter of the area.',
          nullWhen: 'the area is not known',
        },
        askedShare: { type: 'number', unit: 'share', min: 0, means: 'Smallest share that is required.' },
        spacing: {
          type: 'number',
          unit: 'm',
          min: 0,
          means: 'Smallest distance between two check points.',
          nullWhen: 'there are fewer than two points or the area is not known',
        },
        askedSpacing: {
          type: 'number',
          unit: 'm',
          min: 0,
          means: 'Smallest distance that is required.',
          nullWhen: 'none is required or the area is not known',
        },
        met: {
          type: 'boolean',
          means: 'Whether the points are distributed as required.',
          nullWhen: 'the area is not known',
        },
      },
    },
    departures: {
      type: 'list',
      of: { type: 'string' },
      means: 'Where the survey or the cloud departs from what the standard requires, one sentence an entry.',
    },
    remarks: {
      type: 'list',
      of: { type: 'string' },
      means: 'What a reader of the statement should know besides, one sentence an entry.',
    },
    sources: {
      type: 'list',
      means: 'Where figures and wording come from.',
      of: {
        type: 'object',
        means: 'A source.',
        keys: {
          what: { type: 'string', means: 'What was taken from the source.' },
          source: { type: 'string', means: 'The document, and the place in it.' },
          mark: {
            type: 'choice',
            words: ['read', 'read-T', 'read-S', 'computed', 'memory'],
            means:
              'How far it can be trusted: read: seen in the standard itself; read-T: seen in a transcript of it; read-S: seen in a description by others; computed: computed from published figures; memory: recalled and not verified.',
          },
        },
      },
    },
  },
} as const satisfies ObjectShape;

export type AccuracyStatement = ValueOf<typeof statement>;

import { delivery, overview, zone } from './delivery.js';
import { file, finding, pass, passPair, surveyPoint } from './lines.js';
import { requirement } from './requirement.js';
import type { ObjectShape, ValueOf } from './shape.js';
import { section, stationing } from './stationing.js';

const SHA_256 = '^[0-9a-f]{64}$';

/**
 * report.json: the product. Every other output is a view of it. Names are fixed so that scripts can rely on them. Lengths
 * are in metres, areas in square metres, shares 0 to 1, whatever the unit of the cloud.
 */
export const report = {
  type: 'object',
  means:
    'Whether a delivered point cloud meets its acceptance spec, with the evidence. Lengths are in metres, areas in square metres, shares 0 to 1, whatever the unit of the cloud.',
  keys: {
    report: { type: 'constant', value: '1', means: 'Version of this format.' },
    verdict: {
      type: 'choice',
      words: ['accepted', 'rejected', 'undetermined'],
      means:
        'accepted: every mandatory requirement is met; rejected: at least one is not met; undetermined: not everything could be judged.',
    },
    tool: {
      type: 'object',
      means: 'What made the report.',
      keys: {
        name: { type: 'constant', value: 'cloudassay', means: 'Name of the program.' },
        version: { type: 'string', means: 'Version of the program.' },
        command: {
          type: 'string',
          means:
            'Command that repeats the check; files are named without their folders, so that it is the same anywhere.',
        },
      },
    },
    spec: {
      type: 'object',
      means: 'The acceptance spec that the delivery was judged by.',
      keys: {
        title: { type: 'string', means: 'Title of the spec.' },
        sha256: { type: 'string', pattern: SHA_256, means: 'SHA-256 of the spec file, 64 hexadecimal digits.' },
        file: { type: 'string', means: 'File name of the spec.' },
      },
    },
    inputs: {
      type: 'list',
      means: 'Files beside the spec that the verdict rests on.',
      of: {
        type: 'object',
        means: 'A side file.',
        keys: {
          role: {
            type: 'choice',
            words: ['survey points', 'zones', 'tile index', 'manifest', 'route', 'trajectory'],
            means: 'What it holds.',
          },
          file: { type: 'string', means: 'File name.' },
          sha256: { type: 'string', pattern: SHA_256, means: 'SHA-256 of the file, 64 hexadecimal digits.' },
        },
      },
    },
    delivery,
    requirements: { type: 'list', of: requirement, means: 'Every requirement of the spec, in the order of the spec.' },
    files: { type: 'list', of: file, means: 'Every file of the delivery, sorted by name.' },
    passes: { type: 'list', of: pass, means: 'Passes that hold points.' },
    passPairs: { type: 'list', of: passPair, means: 'Pairs of passes that overlap.' },
    surveyPoints: { type: 'list', of: surveyPoint, means: 'Survey points compared with the cloud.' },
    stationing: {
      type: 'reference',
      of: stationing,
      means: 'What stations and offsets are measured along.',
      absentWhen: 'neither a route nor a trajectory was given',
    },
    sections: {
      type: 'list',
      of: section,
      means: 'Requirements whose evidence has places, section by section of the route.',
      absentWhen: 'no route was given',
    },
    overview,
    zones: { type: 'list', of: zone, means: 'Zones handed over with the delivery, in world coordinates.' },
    findings: { type: 'list', of: finding, means: 'What a reader must know that belongs to no requirement.' },
  },
} as const satisfies ObjectShape;

export type Report = ValueOf<typeof report>;

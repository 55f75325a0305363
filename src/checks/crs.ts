import { agreedSystem, codeOrName } from '../delivery/agreed-system.js';
import { type DeclaredCrs, type DeliveredFile, middleOf } from '../delivery/delivery.js';
import type { Check, Requirement } from './contract/check.js';
import { limitsOf, type Metrics, metric, NONE_ALLOWED } from './contract/metric.js';
import { figure, plural, undetermined } from './contract/wording.js';

export interface CrsOptions {
  requireVertical: boolean;
}

/** The figures, and the limits they are held against. */
const metrics = {
  mismatches: metric('files with a wrong or missing coordinate system', 'count', NONE_ALLOWED),
  files: metric('files', 'count'),
} satisfies Metrics;

export const crs = {
  id: 'crs',
  title: 'Coordinate reference system of the files',
  why: 'Coordinates without a stated system, or with a wrong one, put the cloud in the wrong place or at the wrong height.',
  sources: [
    {
      standard: 'LAS 1.4 R16',
      clause: 'coordinate reference system representation',
      note: 'CRS information is required for all data',
    },
    { standard: 'common practice', note: 'one coordinate system for the whole delivery' },
  ],
  schema: {
    properties: {
      requireVertical: {
        type: 'boolean',
        default: true,
        description: 'Whether every file must state its height system too.',
      },
    },
    required: [],
  },
  wholeFiles: true,
  metrics,
  quality: 'DQ_ConceptualConsistency',
  needs: () => ({}),
  explain: ({ requireVertical }: Requirement<CrsOptions>) =>
    `Every file must state the coordinate system named above${requireVertical ? ', its height system included' : ''}; where none is named, all files must state the same one (that of most files counts).`,

  judge(_facts, requirement, { delivery }) {
    const { requireVertical } = requirement;
    const readable = delivery.files.filter((file) => file.header !== null);
    if (readable.length === 0)
      return undetermined('No header could be read, so no coordinate system could be compared.');
    const { horizontal, vertical, undecided } = agreedSystem(readable, delivery.declaredCrs);
    const agreed = {
      ...delivery.declaredCrs,
      horizontal,
      vertical: requireVertical ? vertical : delivery.declaredCrs.vertical,
    };
    const wrong = readable
      .map((file) => ({ file, problems: problemsOf(file, agreed, requireVertical) }))
      .filter(({ problems }) => problems.length > 0);
    const unread = delivery.files.length - readable.length;
    const state = wrong.length > 0 ? 'fail' : unread > 0 ? 'undetermined' : 'pass';
    return {
      state,
      summary:
        wrong.length > 0
          ? `${plural(wrong.length, 'file')} of ${readable.length}: ${wrong[0].problems[0]} (${wrong[0].file.name})${wrong.length > 1 ? ' and others' : ''}.`
          : `${plural(readable.length, 'file')} state ${agreed.horizontal}${agreed.vertical ? ` with heights ${agreed.vertical}` : ''}${unread > 0 ? `; ${plural(unread, 'file')} could not be read` : ''}.`,
      measured: { files: figure(readable.length, 'count'), mismatches: figure(wrong.length, 'count') },
      limits: limitsOf(metrics, requirement),
      evidence: [
        {
          kind: 'locations',
          title: 'Files whose coordinate system is not the agreed one',
          items: wrong.map(({ file, problems }) => ({
            ...middleOf(file)!,
            file: file.name,
            value: null,
            unit: 'count',
            note: problems.join('; '),
          })),
        },
        {
          kind: 'table',
          title: 'Files whose coordinate system is not the agreed one',
          columns: [
            { key: 'file', title: 'file' },
            { key: 'problem', title: 'what is wrong' },
          ],
          rows: wrong.flatMap(({ file, problems }) => problems.map((problem) => [file.name, problem])),
        },
      ],
      advice:
        wrong.length > 0
          ? [
              'Find out which system the coordinates really are in before changing a record: assigning another system does not transform the coordinates.',
              ...(undecided
                ? [
                    `As many files state ${undecided[1]} as ${undecided[0]}: declare the right one in the spec (crs.horizontal).`,
                  ]
                : []),
            ]
          : [],
    };
  },
} satisfies Check<CrsOptions>;

function problemsOf(file: DeliveredFile, agreed: DeclaredCrs, requireVertical: boolean): string[] {
  const found = file.crs;
  const problems = [...(found?.problems ?? [])];
  if (!found?.horizontal) {
    if (problems.length === 0) problems.push('states no coordinate system');
    return problems;
  }
  const plan = codeOrName(found.horizontal);
  if (agreed.horizontal && plan !== agreed.horizontal) problems.push(`states ${plan}, not ${agreed.horizontal}`);
  const height = codeOrName(found.vertical);
  if (requireVertical && height === null) problems.push('states no height system');
  else if (agreed.vertical && height !== null && height !== agreed.vertical)
    problems.push(`states heights ${height}, not ${agreed.vertical}`);
  if (agreed.unit && !sameUnit(agreed.unit, found.horizontal.unit.metres)) {
    problems.push(`has coordinates in ${found.horizontal.unit.name}, not ${agreed.unit}`);
  }
  return problems;
}

/** Units the spec can name, in metres; the two feet differ by 2 parts in a million. */
const UNITS: Record<string, number> = { metre: 1, foot: 0.3048, 'us-survey-foot': 1200 / 3937 };

function sameUnit(name: string, metres: number): boolean {
  const wanted = UNITS[name];
  return wanted === undefined || Math.abs(metres - wanted) < 1e-9;
}

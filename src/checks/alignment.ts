import { fact } from '../measure/fact-types.js';
import type { Check, Evidence, Requirement, State } from './contract/check.js';
import { atLeast, atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, length, plural, undetermined } from './contract/wording.js';
import { type DriveEnd, endsOf } from './trajectory/alignment-ends.js';
import { drivesOf, placeAt, timeWords } from './trajectory/drives.js';

export interface AlignmentOptions {
  ends: 'both' | 'start' | 'end';
  minStandSeconds?: number;
  maxScatter?: number;
  minMetres?: number;
  minHeadingRange?: number;
  minSpeedChanges?: number;
  minSatellites?: number;
  standSpeed: number;
  speedChange: number;
}

/** The figures, and the limits they are held against: the worst of all ends that are judged. */
const metrics = {
  stand: metric('shortest standing', 's', atLeast('minStandSeconds')),
  scatter: metric('largest scatter while standing', 'm', atMost('maxScatter')),
  metres: metric('least distance driven', 'm', atLeast('minMetres')),
  headingRange: metric('least range of heading', 'degree', atLeast('minHeadingRange')),
  speedChanges: metric('least changes of speed', 'count', atLeast('minSpeedChanges')),
  satellites: metric('least number of satellites', 'count', atLeast('minSatellites')),
  pointsWhileStanding: metric('points recorded while standing to align', 'count'),
  drives: metric('drives with points', 'count'),
} satisfies Metrics;

const needs = () => ({ seconds: fact('point-seconds', null) });

/** What each option asks of an end of a drive. Null: not known. */
const ASKED = [
  [
    'minStandSeconds',
    'stand',
    (end: DriveEnd) => end.stand?.seconds ?? 0,
    (v: number) => `stood for ${v.toFixed(1)} s`,
  ],
  [
    'maxScatter',
    'scatter',
    (end: DriveEnd) => end.stand?.scatter ?? null,
    (v: number) => `moved by ${length(v)} while standing`,
  ],
  ['minMetres', 'metres', (end: DriveEnd) => end.metres, (v: number) => `drove ${length(v)}`],
  [
    'minHeadingRange',
    'headingRange',
    (end: DriveEnd) => end.headingRange,
    (v: number) => `turned through ${v.toFixed(0)} degrees`,
  ],
  [
    'minSpeedChanges',
    'speedChanges',
    (end: DriveEnd) => end.speedChanges,
    (v: number) => plural(v, 'change of speed', 'changes of speed'),
  ],
  ['minSatellites', 'satellites', (end: DriveEnd) => end.satellites, (v: number) => plural(v, 'satellite')],
] as const;

export const alignment = {
  id: 'alignment',
  title: 'Alignment at the start and the end of each drive',
  why: 'Inertial sensors find their attitude by standing and by turning and changing speed under an open sky; without it before the first and after the last point, both ends of the drive have the worst attitude.',
  sources: [
    {
      standard: 'Japan, GSI public survey operation rules (2025)',
      clause: '500, 501',
      note: 'initialisation before the first and a closing procedure after the last point, under an open sky (transcript read)',
    },
    {
      standard: 'Japan, GSI public survey operation rules (2025)',
      clause: '191',
      note: 'five minutes of continuous observation before and after: written for photographs from the air, here by analogy (transcript read)',
    },
    {
      standard: 'common practice',
      note: 'no public rule gives seconds of standing, metres or manoeuvres for a vehicle: those of the maker of the system are agreed',
    },
  ],
  schema: {
    properties: {
      ends: { enum: ['both', 'start', 'end'], default: 'both', description: 'Ends of each drive that are judged.' },
      minStandSeconds: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Shortest time that the vehicle must stand, without points, at each end, seconds.',
      },
      maxScatter: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest horizontal distance of a position from the mean one while standing, metres.',
      },
      minMetres: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Shortest distance that must be driven at each end without points, metres.',
      },
      minHeadingRange: {
        type: 'number',
        exclusiveMinimum: 0,
        maximum: 360,
        description: 'Least range of the courses driven at each end without points, degrees.',
      },
      minSpeedChanges: {
        type: 'integer',
        minimum: 1,
        description: 'Least number of changes of speed by speedChange at each end without points.',
      },
      minSatellites: {
        type: 'integer',
        minimum: 1,
        maximum: 254,
        description: 'Least number of satellites at each end, for an open sky.',
      },
      standSpeed: {
        type: 'number',
        exclusiveMinimum: 0,
        default: 1,
        description: 'Speed up to which the vehicle is taken to stand, kilometres an hour.',
      },
      speedChange: {
        type: 'number',
        exclusiveMinimum: 0,
        default: 20,
        description: 'Change of the speed that counts as one, kilometres an hour.',
      },
    },
    required: [],
    anyOf: ASKED.filter(([option]) => option !== 'maxScatter').map(([option]) => ({ required: [option] })),
  },
  wholeFiles: true,
  metrics,
  quality: 'DQ_AbsoluteExternalPositionalAccuracy',
  allPoints: true,
  sideFiles: () => ['trajectory'] as const,
  needs,

  explain(r: Requirement<AlignmentOptions>) {
    const parts = [
      r.minStandSeconds === undefined ? '' : `stand for at least ${r.minStandSeconds} s`,
      r.maxScatter === undefined ? '' : `keep within ${length(r.maxScatter)} of its mean place while it stands`,
      r.minMetres === undefined ? '' : `drive at least ${length(r.minMetres)}`,
      r.minHeadingRange === undefined ? '' : `turn through at least ${r.minHeadingRange} degrees`,
      r.minSpeedChanges === undefined
        ? ''
        : `change its speed by ${r.speedChange} km/h at least ${plural(r.minSpeedChanges, 'time')}`,
      r.minSatellites === undefined ? '' : `receive at least ${plural(r.minSatellites, 'satellite')}`,
    ].filter((part) => part !== '');
    const when = {
      both: 'before its first and after its last point',
      start: 'before its first point',
      end: 'after its last point',
    };
    return `In every drive the vehicle must, ${when[r.ends]}, ${parts.join(', ')}; no point may be recorded meanwhile.`;
  },

  judge({ seconds }, requirement, context) {
    const limits = limitsOf(metrics, requirement);
    const known = drivesOf(context, limits);
    if ('verdict' in known) return known.verdict;
    const { drives } = known;
    const found = drives.flatMap((drive) => {
      const ends = endsOf(drive, seconds, requirement);
      if (ends === null) return [];
      // The two parts of a drive that is cut at the end of the week have no end there.
      const goesOn = drives.some(({ continues }) => continues === drive.name);
      return [
        ...(requirement.ends !== 'end' && drive.continues === undefined ? [ends.start] : []),
        ...(requirement.ends !== 'start' && !goesOn ? [ends.end] : []),
      ];
    });
    if (found.length === 0) return undetermined('No point was recorded in the time of a drive.', { limits });
    const judged = found.map((end) => ({ end, ...judgeEnd(end, requirement) }));
    const states = judged.map(({ state }) => state);
    const state: State = states.includes('fail') ? 'fail' : states.includes('undetermined') ? 'undetermined' : 'pass';
    const count = new Set(found.map(({ drive }) => drive.name)).size;
    const odd = judged.filter((one) => one.state === state && state !== 'pass');
    const first = odd[0];
    const measured = Object.fromEntries(
      ASKED.map(([option, name, value]) => {
        const values = found.map(value);
        const worst = values.some((v) => v === null)
          ? null
          : (values as number[]).reduce((a, b) => (option === 'maxScatter' ? Math.max(a, b) : Math.min(a, b)));
        return [name, figure(worst, metrics[name].unit)];
      }),
    );
    return {
      state,
      summary: first
        ? `${plural(count, 'drive')}: at the ${first.end.end} of ${first.end.drive.name} ${first.reasons.join(', ')}${odd.length > 1 ? `; ${odd.length - 1} more` : ''}.`
        : `${plural(count, 'drive')}, aligned as agreed at ${plural(found.length, 'end')}.`,
      measured: {
        ...measured,
        pointsWhileStanding: figure(
          found.reduce((sum, end) => sum + end.pointsWhileStanding, 0),
          'count',
        ),
        drives: figure(count, 'count'),
      },
      limits,
      evidence: [
        {
          kind: 'locations',
          title: 'Ends of drives that are not aligned as agreed',
          items: odd.map(({ end: { drive, end, stand }, reasons }) => {
            const at = end === 'start' ? 0 : drive.epochs - 1;
            const note = `${end} of the drive, ${timeWords(drive.time[at])}: ${reasons.join(', ')}`;
            return placeAt(drive, at, stand?.seconds ?? 0, 's', note);
          }),
        },
        tableOf(found),
      ],
      advice:
        state === 'fail'
          ? ['Align at both ends as the maker of the system says, with the scanner off, and drive again.']
          : [],
    };
  },
} satisfies Check<AlignmentOptions, typeof needs>;

function judgeEnd(end: DriveEnd, requirement: Requirement<AlignmentOptions>): { state: State; reasons: string[] } {
  const bad: string[] = [];
  const unknown: string[] = [];
  for (const [option, , valueIn, words] of ASKED) {
    const limit = requirement[option];
    if (limit === undefined) continue;
    const value = valueIn(end);
    if (value === null) {
      unknown.push(option === 'maxScatter' ? 'the vehicle did not stand' : 'the number of satellites is not stated');
      continue;
    }
    const good = option === 'maxScatter' ? value <= limit : value >= limit;
    if (!good) bad.push(`${words(value)} (${option === 'maxScatter' ? 'at most' : 'at least'} ${limit})`);
  }
  const asksToStand = requirement.minStandSeconds !== undefined;
  if (asksToStand && bad.length > 0 && end.pointsWhileStanding > 0)
    bad.push(`${plural(end.pointsWhileStanding, 'point was', 'points were')} recorded while it stood`);
  if (bad.length > 0) return { state: 'fail', reasons: bad };
  return unknown.length > 0 ? { state: 'undetermined', reasons: unknown } : { state: 'pass', reasons: [] };
}

function tableOf(ends: readonly DriveEnd[]): Evidence {
  return {
    kind: 'table',
    title: 'Ends of the drives without points',
    columns: [
      { key: 'drive', title: 'drive' },
      { key: 'end', title: 'end' },
      { key: 'seconds', title: 'without points', unit: 's' },
      { key: 'stand', title: 'standing', unit: 's' },
      { key: 'scatter', title: 'scatter while standing', unit: 'm' },
      { key: 'metres', title: 'driven', unit: 'm' },
      { key: 'headingRange', title: 'range of heading', unit: 'degree' },
      { key: 'speedChanges', title: 'changes of speed', unit: 'count' },
      { key: 'satellites', title: 'least satellites', unit: 'count' },
    ],
    rows: ends.map(({ drive, end, from, to, stand, metres, headingRange, speedChanges, satellites }) => [
      drive.name,
      end,
      to >= from ? drive.time[to] - drive.time[from] : 0,
      stand?.seconds ?? 0,
      stand?.scatter ?? null,
      metres,
      headingRange,
      speedChanges,
      satellites,
    ]),
  };
}

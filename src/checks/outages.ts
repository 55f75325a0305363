import { passLabel } from '../delivery/delivery.js';
import { SOLUTIONS, type Solution } from '../delivery/trajectory.js';
import { largestKnown } from '../geometry/ranking.js';
import { median } from '../geometry/statistics.js';
import { fact } from '../measure/fact-types.js';
import type { PassPairs } from '../measure/pass-pairs.js';
import type { PassTimes } from '../measure/pass-times.js';
import { driftOfPasses } from '../measure/passes/drift-of-passes.js';
import { likelyCauses } from './advice/index.js';
import type { Check, Evidence, JudgeContext, LikelyCause, Requirement, State } from './contract/check.js';
import { atMost, limitOfJudge, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, length, plural, undetermined } from './contract/wording.js';
import { coordinateStep } from './passes/coordinate-step.js';
import { drivesOf, placeAt, timeWords } from './trajectory/drives.js';
import { isBeside, lossesOfFixedPosition, type Outage } from './trajectory/fix-losses.js';

export interface OutagesOptions {
  maxSeconds?: number;
  maxMetres?: number;
  controlAfterSeconds?: number;
  controlRadius: number;
  accepted: Solution[];
}

/** The figures, and the limits they are held against. */
const metrics = {
  longest: metric('longest loss of fixed position', 's', atMost('maxSeconds')),
  farthest: metric('longest distance without fixed position', 'm', atMost('maxMetres')),
  withoutControl: metric('losses without a control point', 'count', limitOfJudge('at-most')),
  outages: metric('losses of fixed position', 'count'),
  total: metric('time without fixed position', 's'),
  sigma: metric('largest standard deviation in them', 'm'),
} satisfies Metrics;

/** Voxels and points of pass-drift where its options are left out, so that a spec that has both measures them once. */
const VOXEL = 0.5;
const MIN_POINTS = 10;
const DRIFT = { bin: 1, minCells: 10, window: 60, minSeconds: 20 };

const needsForCauses = (_: Requirement<OutagesOptions>, context: JudgeContext) => ({
  compared:
    context.delivery.passes.length < 2
      ? undefined
      : fact('pass-pairs', {
          voxel: VOXEL,
          minPoints: MIN_POINTS,
          coordinateStep: coordinateStep(context.delivery),
          area: null,
        }),
  times: context.delivery.passes.length < 2 ? undefined : fact('pass-times', { cell: VOXEL }),
});

const needs = () => ({});

export const outages = {
  id: 'outages',
  title: 'Losses of fixed position',
  why: 'Without satellites the position rests on inertial sensors alone and its error grows with time and distance; points of such a stretch need control points to prove their place.',
  sources: [
    {
      standard: 'Korea, rules for HD road maps, notice 2023-4338',
      clause: 'annex 2.2',
      note: 'the limits of position and attitude must hold for 60 s after a loss of satellites: what a system must be able to do, not a limit of outages; the only public figure found (read)',
    },
    {
      standard: 'Korea, rules for HD road maps, notice 2023-4338',
      clause: '18',
      note: 'at least one control point more where reception is poor (transcript read)',
    },
    {
      standard: 'Japan, GSI public survey operation rules (2025)',
      clause: '503, 507',
      note: 'sections without satellites over a long distance are driven again or adjusted to points; no seconds are given (transcript read)',
    },
    { standard: 'NMEA 0183', clause: 'GGA', note: 'quality 4 is a fixed solution; below it the position is not fixed' },
  ],
  schema: {
    properties: {
      maxSeconds: {
        type: 'number',
        exclusiveMinimum: 0,
        description:
          'Longest loss of fixed position, seconds. One public rule asks a system to hold its accuracy for 60 s; a longer loss is beyond what that rule vouches for.',
      },
      maxMetres: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Longest distance driven without fixed position, metres.',
      },
      controlAfterSeconds: {
        type: 'number',
        minimum: 0,
        description: 'Losses longer than this need at least one control point beside the way driven in them, seconds.',
      },
      controlRadius: {
        type: 'number',
        exclusiveMinimum: 0,
        default: 30,
        description: 'Horizontal distance from the way driven within which a control point belongs to a loss, metres.',
      },
      accepted: {
        type: 'array',
        items: { enum: SOLUTIONS.filter((solution) => solution !== 'none') },
        minItems: 1,
        uniqueItems: true,
        default: ['fixed'],
        description: 'Solution types that are taken for a fixed position.',
      },
    },
    required: [],
    anyOf: [{ required: ['maxSeconds'] }, { required: ['maxMetres'] }, { required: ['controlAfterSeconds'] }],
  },
  wholeFiles: true,
  metrics,
  quality: 'DQ_AbsoluteExternalPositionalAccuracy',
  sideFiles: ({ controlAfterSeconds }: Requirement<OutagesOptions>) =>
    controlAfterSeconds === undefined ? (['trajectory'] as const) : (['trajectory', 'points'] as const),
  needs,
  needsForCauses,

  explain({ maxSeconds, maxMetres, controlAfterSeconds, controlRadius, accepted }: Requirement<OutagesOptions>) {
    const parts = [
      maxSeconds === undefined
        ? ''
        : `last at most ${maxSeconds} s${maxSeconds === 60 ? ' (what one public rule asks a system to bridge)' : ''}`,
      maxMetres === undefined ? '' : `extend over at most ${length(maxMetres)} driven`,
      controlAfterSeconds === undefined
        ? ''
        : `have a control point within ${length(controlRadius)} of the way driven where it is longer than ${controlAfterSeconds} s`,
    ].filter((part) => part !== '');
    return `Every stretch of the trajectory whose solution is not ${accepted.join(' or ')}, or that has no rows, must ${parts.join(', and ')}.`;
  },

  judge({ compared, times }, requirement, context) {
    const { maxSeconds, maxMetres, controlAfterSeconds, controlRadius, accepted } = requirement;
    const limits = limitsOf(metrics, requirement);
    if (controlAfterSeconds !== undefined) limits.withoutControl = figure(0, 'count');
    const known = drivesOf(context, limits);
    if ('verdict' in known) return known.verdict;
    const { drives } = known;
    const judged = drives.filter(({ solution }) => solution !== null);
    const lacking = drives.find(({ solution }) => solution === null);
    if (judged.length === 0)
      return undetermined(
        `${lacking?.name} has no column for the solution type, so losses of fixed position are unknown.`,
        {
          limits,
          advice: ['Export the trajectory again with the solution type (fixed, float, ...) of every row.'],
        },
      );
    const control = context.delivery.surveyPoints?.filter(({ role }) => role === 'control') ?? null;
    const rows = lossesOfFixedPosition(judged, accepted).map((outage) => {
      const beside = control?.filter(({ x, y }) => isBeside(outage, x, y, controlRadius)).map(({ id }) => id) ?? null;
      const needsControl = controlAfterSeconds !== undefined && outage.seconds > controlAfterSeconds;
      const reasons = [
        maxSeconds !== undefined && outage.seconds > maxSeconds + MILLISECOND ? `longer than ${maxSeconds} s` : '',
        maxMetres !== undefined && outage.metres > maxMetres ? `longer than ${length(maxMetres)}` : '',
        needsControl && beside?.length === 0 ? 'no control point beside it' : '',
      ].filter((reason) => reason !== '');
      return { outage, beside, needsControl, reasons };
    });
    const failing = rows.filter(({ reasons }) => reasons.length > 0);
    const unknown = [
      ...(lacking ? [`${lacking.name} has no column for the solution type`] : []),
      ...(control === null && rows.some(({ needsControl }) => needsControl) ? ['no survey points were given'] : []),
      ...(failing.length === 0 && rows.some(({ outage }) => outage.open)
        ? [openWords(rows.map(({ outage }) => outage))]
        : []),
    ];
    const state: State = failing.length > 0 ? 'fail' : unknown.length > 0 ? 'undetermined' : 'pass';
    const found = rows.map(({ outage }) => outage);
    const longest = largestKnown(found.map(({ seconds }) => seconds)) ?? 0;
    const farthest = largestKnown(found.map(({ metres }) => metres)) ?? 0;
    const lone = rows.filter(({ needsControl, beside }) => needsControl && beside?.length === 0).length;
    const worst = [...failing].sort((a, b) => b.outage.seconds - a.outage.seconds)[0];
    const counted =
      found.length === 0
        ? `No loss of fixed position in ${plural(judged.length, 'drive')}`
        : `${plural(found.length, 'loss', 'losses')} of fixed position, the longest ${longest.toFixed(3)} s, the farthest ${length(farthest)}`;
    return {
      state,
      summary: worst
        ? `${counted}; ${failing.length} not as agreed: ${worst.outage.drive.name} at ${timeWords(worst.outage.start)} for ${worst.outage.seconds.toFixed(3)} s and ${length(worst.outage.metres)} (${worst.reasons.join(', ')}).`
        : `${counted}${unknown.length > 0 ? `; ${unknown.join('; ')}` : ''}.`,
      measured: {
        longest: figure(longest, 's'),
        farthest: figure(farthest, 'm'),
        ...(controlAfterSeconds === undefined
          ? {}
          : {
              withoutControl: figure(
                control === null && lone === 0 && rows.some((r) => r.needsControl) ? null : lone,
                'count',
              ),
            }),
        outages: figure(found.length, 'count'),
        total: figure(
          found.reduce((sum, { seconds }) => sum + seconds, 0),
          's',
        ),
        sigma: figure(largestKnown(found.map(({ sigma }) => sigma)), 'm'),
      },
      limits,
      evidence: [
        {
          kind: 'locations',
          title: 'Losses of fixed position that are not as agreed',
          items: failing.flatMap(({ outage, reasons }) => {
            const note = `from ${timeWords(outage.start)}, ${outage.seconds.toFixed(3)} s and ${length(outage.metres)}: ${reasons.join(', ')}`;
            return [
              placeAt(outage.drive, outage.from, outage.seconds, 's', `begin of a loss ${note}`),
              placeAt(outage.drive, outage.to, outage.seconds, 's', `end of a loss ${note}`),
            ];
          }),
        },
        tableOf(rows),
      ],
      advice:
        state === 'fail'
          ? [
              'Drive these stretches again with better reception, or survey control points in them and process the trajectory with these.',
            ]
          : [],
      ...(compared && times
        ? {
            causes: causesOf(
              failing.map(({ outage }) => outage),
              compared,
              times,
              context,
            ),
          }
        : {}),
    };
  },
} satisfies Check<OutagesOptions, typeof needs, typeof needsForCauses>;

/** Times are given to the millisecond. */
const MILLISECOND = 0.0005;

function openWords(found: readonly Outage[]): string {
  const { drive, from } = found.find(({ open }) => open)!;
  return `${drive.name} ${from === 0 ? 'begins' : 'ends'} without fixed position, so that loss may be longer than the file shows`;
}

function tableOf(rows: readonly { outage: Outage; beside: string[] | null }[]): Evidence {
  return {
    kind: 'table',
    title: 'Losses of fixed position',
    columns: [
      { key: 'drive', title: 'drive' },
      { key: 'start', title: 'first GPS time', unit: 's' },
      { key: 'seconds', title: 'time', unit: 's' },
      { key: 'metres', title: 'driven', unit: 'm' },
      { key: 'worst', title: 'worst solution' },
      { key: 'sigma', title: 'largest standard deviation', unit: 'm' },
      { key: 'control', title: 'control points' },
    ],
    rows: rows.map(({ outage: { drive, start, seconds, metres, worst, sigma }, beside }) => [
      drive.name,
      start,
      seconds,
      metres,
      worst,
      sigma,
      beside === null ? 'not given' : beside.length === 0 ? 'none' : beside.slice(0, 10).join(', '),
    ]),
  };
}

/** Bins outside a loss from which it is known how a pass lies against the others without it. */
const LEAST_OTHERS = 3;

/** What the heights of the passes show in the time of each loss. */
function causesOf(
  found: readonly Outage[],
  { pairs }: PassPairs,
  times: PassTimes,
  context: JudgeContext,
): LikelyCause[] {
  const drifts = driftOfPasses(pairs, times, DRIFT);
  return found.slice(0, 20).flatMap(({ start, seconds }) =>
    drifts.flatMap(({ pass, time, offset, std }) => {
      const all = Array.from(time, (at, i) => ({ at, offset: offset[i], std: std[i] }));
      const within = ({ at }: { at: number }) => at + DRIFT.bin > start && at < start + seconds;
      const others = all.filter((bin) => !within(bin)).map((bin) => bin.offset);
      return likelyCauses('outage', {
        pass: passLabel(context.delivery, pass),
        start,
        seconds,
        bins: all.filter(within),
        usual: others.length < LEAST_OTHERS ? null : median(others),
      });
    }),
  );
}

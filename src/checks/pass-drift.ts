import { isOneDrive } from '../delivery/passes.js';
import { VehiclePoses } from '../delivery/vehicle-poses.js';
import { farthestFromZero } from '../geometry/ranking.js';
import { fact } from '../measure/fact-types.js';
import type { PassPairs } from '../measure/pass-pairs.js';
import type { PassTimes } from '../measure/pass-times.js';
import { driftOfPasses } from '../measure/passes/drift-of-passes.js';
import { horizontalDriftOfPasses } from '../measure/passes/horizontal-drift.js';
import { offsetsInVehicle } from '../measure/passes/offsets-in-vehicle.js';
import { likelyCauses } from './advice/index.js';
import { vehicleCauses } from './advice/vehicle-facts.js';
import { maskArea } from './cells/mask-area.js';
import type { Check, JudgeContext, Requirement, State, Verdict } from './contract/check.js';
import { atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, length, plural, undetermined } from './contract/wording.js';
import { coordinateStep } from './passes/coordinate-step.js';
import { driftOnRoute, driftPlaces, driftSeries, driftTable, inMillimetresPerMinute } from './passes/drift-evidence.js';
import type { PassDriftOptions } from './passes/drift-options.js';
import { driftFacts, findFaulty, suspectOf } from './passes/height-drift.js';
import { judgeHorizontalDrift } from './passes/horizontal-drift-verdict.js';
import { offsetEvidence } from './vehicle/offset-evidence.js';

const needs = (
  { voxel, minPoints, zone, maxHorizontalOffset }: Requirement<PassDriftOptions>,
  context: JudgeContext,
) => ({
  compared: fact('pass-pairs', {
    voxel,
    minPoints,
    coordinateStep: coordinateStep(context.delivery),
    area: maskArea(context, zone),
    ...(maxHorizontalOffset !== undefined || hasDrives(context) ? { walls: true } : {}),
  }),
  times: fact('pass-times', { cell: voxel }),
});

/** The figures, and the limits they are held against. */
const metrics = {
  worst: metric('largest offset', 'm', atMost('maxOffset')),
  slope: metric('largest drift rate', 'mm/min', atMost('maxSlope')),
  step: metric('largest step', 'm', atMost('maxStep')),
  horizontal: metric('largest horizontal offset', 'm', atMost('maxHorizontalOffset')),
  passes: metric('passes', 'count'),
  bins: metric('bins', 'count'),
  steps: metric('steps', 'count'),
} satisfies Metrics;

export const passDrift = {
  id: 'pass-drift',
  title: 'Drift of a pass against the others',
  why: 'A trajectory goes wrong for some seconds, not for a whole pass: averaged over the pass it hides, and along GPS time it shows where to look in the post-processing.',
  sources: [
    {
      standard: 'common practice',
      note: 'height differences on horizontal surfaces by GPS time; median of a bin, least squares for slopes and steps',
    },
  ],
  schema: {
    properties: {
      maxOffset: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest height of a pass above or below the others in any bin of time, metres.',
      },
      maxSlope: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Steepest change against the others over a window of time, millimetres a minute.',
      },
      maxStep: {
        type: 'number',
        exclusiveMinimum: 0,
        description:
          'Largest sudden change against the others, within one bin or over a gap of time, metres; a slower change is a drift.',
      },
      maxHorizontalOffset: {
        type: 'number',
        exclusiveMinimum: 0,
        description:
          'Largest horizontal offset of a pass from the others in any bin of time, metres, where walls show it; half of the bins must show both directions.',
      },
      bin: { type: 'number', minimum: 0.05, maximum: 60, default: 1, description: 'Bins of GPS time, seconds.' },
      window: {
        type: 'number',
        exclusiveMinimum: 0,
        default: 60,
        description: 'Window over which a slope is taken, seconds.',
      },
      minSeconds: {
        type: 'number',
        exclusiveMinimum: 0,
        default: 20,
        description: 'Shortest stretch of time from which a slope is computed, seconds.',
      },
      minCells: {
        type: 'integer',
        minimum: 1,
        default: 10,
        description: 'Level voxels that a bin must share with another pass.',
      },
      minBins: { type: 'integer', minimum: 1, default: 5, description: 'Bins that a pass needs for a verdict.' },
      voxel: {
        type: 'number',
        minimum: 0.1,
        maximum: 10,
        default: 0.5,
        description: 'Edge of the voxels in which planes are fitted, metres.',
      },
      minPoints: {
        type: 'integer',
        minimum: 4,
        default: 10,
        description: 'Points of each pass that a voxel must hold.',
      },
    },
    required: [],
    anyOf: [
      { required: ['maxOffset'] },
      { required: ['maxSlope'] },
      { required: ['maxStep'] },
      { required: ['maxHorizontalOffset'] },
    ],
  },
  metrics,
  quality: 'DQ_RelativeInternalPositionalAccuracy',
  canGuard: true,
  // The frame of the vehicle and likely causes; the verdict does not need it.
  sideFiles: () => ['trajectory'],

  needs,

  explain: ({ maxOffset, maxSlope, maxStep, maxHorizontalOffset, bin, window, zone }) =>
    `In every ${bin} s of GPS time${zone ? ` in zone ${zone}` : ''}, the height of a pass is compared with the other passes on horizontal surfaces: ${[
      maxOffset !== undefined ? `it must not lie more than ${length(maxOffset)} above or below them` : '',
      maxSlope !== undefined ? `not change by more than ${maxSlope} mm a minute over ${window} s` : '',
      maxStep !== undefined ? `and not jump by more than ${length(maxStep)}` : '',
      maxHorizontalOffset !== undefined
        ? `and walls must not show it more than ${length(maxHorizontalOffset)} beside them`
        : '',
    ]
      .filter((part) => part !== '')
      .join(', ')}.`,

  judge(facts, requirement, context) {
    const verdict = withHorizontal(judgeHeights(facts, requirement, context), facts, requirement, context);
    const offsets = vehicleOffsets(facts, requirement, context);
    const evidence = [...verdict.evidence, ...offsetEvidence(offsets, context)];
    const found = verdict.state === 'fail' ? vehicleCauses(offsets, leastOffset(requirement), context) : [];
    // What the trajectory shows at the time goes before what the cloud alone suggests.
    const causes = found.length > 0 ? found : (verdict.causes ?? []);
    return { ...verdict, evidence, ...(causes.length > 0 || verdict.causes ? { causes } : {}) };
  },
} satisfies Check<PassDriftOptions, typeof needs>;

/** The offsets of every pass in the frame of its vehicle; none without a trajectory. */
function vehicleOffsets({ compared, times }: DriftMeasured, r: PassDriftOptions, { delivery }: JudgeContext) {
  const { trajectory, passRule } = delivery;
  if (trajectory === null) return [];
  // Heads of one drive share its trajectory: they do not show its error.
  const pairs = compared.pairs.filter(({ a, b }) => !isOneDrive(passRule, a, b));
  return offsetsInVehicle(pairs, times, new VehiclePoses(trajectory), r);
}

/** Smallest offset that the requirement does not accept, metres; that of a step where it limits nothing else. */
function leastOffset({ maxOffset, maxHorizontalOffset, maxStep }: PassDriftOptions): number {
  const limits = [maxOffset, maxHorizontalOffset, maxStep].flatMap((limit) => limit ?? []);
  return limits.length > 0 ? limits.reduce((least, limit) => Math.min(least, limit)) : LEAST_OFFSET;
}

function hasDrives({ delivery }: JudgeContext): boolean {
  return delivery.trajectory !== null && delivery.trajectory.drives.length > 0;
}

interface DriftMeasured {
  compared: PassPairs;
  times: PassTimes;
}

/** Adds what walls say of the passes to the verdict on their heights. */
function withHorizontal(
  heights: Verdict,
  { compared, times }: DriftMeasured,
  requirement: Requirement<PassDriftOptions>,
  context: JudgeContext,
): Verdict {
  const { maxHorizontalOffset, minBins, decision } = requirement;
  if (maxHorizontalOffset === undefined) return heights;
  const drifts = horizontalDriftOfPasses(compared.pairs, times, requirement);
  const how = { minBins, guarded: decision === 'guarded' };
  const { state, largest, text } = judgeHorizontalDrift(drifts, maxHorizontalOffset, how, context);
  const order: State[] = ['fail', 'undetermined', 'pass'];
  return {
    ...heights,
    state: order.find((one) => one === state || one === heights.state)!,
    summary: `${heights.summary.replace(/\.$/, '')}; ${text}.`,
    measured: { ...heights.measured, horizontal: figure(largest, 'm') },
  };
}

function judgeHeights(
  { compared, times }: DriftMeasured,
  requirement: Requirement<PassDriftOptions>,
  context: JudgeContext,
): Verdict {
  const limits = limitsOf(metrics, requirement);
  const all = driftOfPasses(compared.pairs, times, requirement);
  const tested = all.filter((drift) => drift.time.length >= requirement.minBins);
  if (tested.length === 0) {
    return undetermined(
      `No pass could be followed along GPS time: at most ${plural(
        all.reduce((most, d) => Math.max(most, d.time.length), 0),
        'bin',
      )} of ${requirement.bin} s hold enough common horizontal surface, ${requirement.minBins} needed.`,
      {
        limits,
        advice: [
          'Points need GPS times, passes must overlap and be separated by the right rule; short drives need a shorter bin.',
        ],
      },
    );
  }
  const judged = findFaulty(tested, compared, times, requirement, context);
  const followed = judged.map((j) => j.drift);
  const failing = judged.filter((j) => j.state === 'fail');
  const unsure = judged.filter((j) => j.state === 'undetermined');
  const state: State = failing.length > 0 ? 'fail' : unsure.length > 0 ? 'undetermined' : 'pass';
  const [first, ...rest] = [...(failing.length > 0 ? failing : unsure.length > 0 ? unsure : judged)].sort(
    (a, b) => b.excess - a.excess,
  );
  const two = failing.length === 2 && tested.length === 2;
  const suspect = two ? suspectOf([first, ...rest], requirement) : null;
  const worst = suspect ?? first;
  // Of two passes that mirror each other, one list says where; with both names where nothing points to one of them.
  const listed = two ? [{ ...worst, name: suspect?.name ?? failing.map(({ name }) => name).join(' or ') }] : judged;
  return {
    state,
    summary: `${worst.text}${two ? `; ${suspect ? `the other of the two passes differs as much the other way, but the change follows a gap in the time of ${suspect.name}` : 'with two passes only, the figures do not show which of them is at fault'}` : failing.length > 1 ? `; ${failing.length} of ${plural(judged.length, 'pass', 'passes')} exceed a limit` : ''}.`,
    measured: {
      passes: figure(tested.length, 'count'),
      bins: figure(
        tested.reduce((sum, d) => sum + d.time.length, 0),
        'count',
      ),
      worst: figure(farthestFromZero(followed.map((d) => d.offset[d.worst])), 'm'),
      slope: figure(
        farthestFromZero(followed.map((d) => (d.slope ? inMillimetresPerMinute(d.slope.slope) : null))),
        'mm/min',
      ),
      step: figure(farthestFromZero(followed.map((d) => d.step?.step ?? null)), 'm'),
      steps: figure(
        followed.reduce((sum, d) => sum + d.steps.length, 0),
        'count',
      ),
    },
    limits,
    evidence: [
      {
        kind: 'locations',
        title: 'Where and when passes go wrong',
        items: driftPlaces(listed, requirement, context),
      },
      driftSeries(followed, requirement, context),
      driftTable(followed, context),
      ...driftOnRoute(followed, requirement, context),
    ],
    advice: [],
    causes: state === 'fail' ? likelyCauses('drift', driftFacts(worst, requirement)) : [],
  };
}

/** Offset that matters where only the slope is limited, metres. */
const LEAST_OFFSET = 0.01;

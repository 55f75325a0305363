import { passRuleWords } from '../delivery/passes.js';
import { fact } from '../measure/fact-types.js';
import type { PassPair } from '../measure/pass-pairs.js';
import { passCauses } from './advice/pass-facts.js';
import { maskArea } from './cells/mask-area.js';
import type { Check, JudgeContext, Requirement, State } from './contract/check.js';
import { atLeast, atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, length, percent, plural, undetermined } from './contract/wording.js';
import {
  heightsByPlace,
  pairGrid,
  pairLineOf,
  pairPlaces,
  pairTable,
  planGrid,
  planPlaces,
  separationBins,
} from './passes/agreement-evidence.js';
import { type PassAgreementOptions, passAgreementSchema } from './passes/agreement-options.js';
import { comparedShareOf } from './passes/compared-share.js';
import { coordinateStep } from './passes/coordinate-step.js';
import { hiddenShiftAdvice } from './passes/hidden-shift-advice.js';
import { HEADS_ADVICE, noSuchPair, PAIR_WORDS, pairsToJudge } from './passes/pair-choice.js';
import { axisShiftOf, type JudgedPair, judgePair, planOffsetsOf, planShiftOf } from './passes/pair-verdict.js';
import { mountingsOf } from './vehicle/mountings.js';
import { mountingTable } from './vehicle/offset-evidence.js';

const needs = (r: Requirement<PassAgreementOptions>, context: JudgeContext) => {
  const minPoints = leastPoints(r);
  const area = maskArea(context, r.zone);
  if (r.method === 'cells') return { compared: fact('swath-separation', { cell: r.cell, minPoints, area }) };
  const { trajectory, passRule } = context.delivery;
  // Walls show how heads are turned; where they are on the vehicle is known with a trajectory only.
  const walls = trajectory !== null && passRule.by.includes('scanner-channel') ? { walls: true } : {};
  const params = { voxel: r.voxel, minPoints, coordinateStep: coordinateStep(context.delivery), area, ...walls };
  return { compared: fact('pass-pairs', asksForPlan(r) ? { ...params, stretch: r.stretch } : params) };
};

/** Which way and where each pass was driven. */
const needsForCauses = ({ method, voxel }: Requirement<PassAgreementOptions>) => ({
  times: method === 'cells' ? undefined : fact('pass-times', { cell: voxel }),
  tracks: method === 'cells' ? undefined : fact('pass-tracks', { cell: TRACK_CELL }),
});

/** The figures, and the limits they are held against. */
const metrics = {
  rmsDz: metric('RMS dz', 'm', atMost('maxRmsDz')),
  p95Dz: metric('95th percentile of dz', 'm', atMost('maxP95Dz')),
  maxDz: metric('largest dz', 'm', atMost('maxDz')),
  shift: metric('shift (3D)', 'm', atMost('maxShift')),
  planShift: metric('shift in plan', 'm', atMost('maxPlanShift')),
  axisShift: metric('shift along an axis', 'm', atMost('maxAxisShift')),
  p95Plan: metric('95th percentile of the differences in plan', 'm', atMost('maxP95Plan')),
  maxPlan: metric('largest difference in plan', 'm', atMost('maxPlan')),
  comparedShare: metric('compared share of the common ground', 'share', atLeast('minComparedShare')),
  pairs: metric('pass pairs', 'count'),
  cells: metric('cells', 'count'),
  meanDz: metric('mean dz', 'm'),
  worstPair: metric('worst pair', 'count'),
  rejected: metric('outliers excluded', 'count'),
} satisfies Metrics;

export const passAgreement = {
  id: 'pass-agreement',
  title: 'Agreement between passes',
  why: 'Where two passes show the same surface twice, their distance is the relative error: doubled kerbs, rough surfaces and false steps come from it.',
  sources: [
    {
      standard: 'ASPRS Positional Accuracy Standards',
      clause: 'lidar relative accuracy',
      note: 'swath-to-swath RMSDz and largest difference as limits',
    },
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'swath separation images',
      note: 'the method `cells`: signed differences of last returns, grouped by pass, in bins of the limit',
    },
    {
      standard: 'common practice',
      note: 'distances between planes fitted to the same voxel, and least squares for the 3D shift',
    },
  ],
  schema: passAgreementSchema,
  metrics,
  quality: 'DQ_RelativeInternalPositionalAccuracy',
  canGuard: true,
  // The frame of the vehicle and likely causes; the verdict does not need it.
  sideFiles: () => ['trajectory'],

  needs,
  needsForCauses,

  explain: (r) =>
    `Wherever ${PAIR_WORDS[r.pairs]} show the same surface${r.zone ? ` in zone ${r.zone}` : ''} (${r.method === 'cells' ? `mean heights of last returns in cells of ${r.cell} m` : `planes in voxels of ${r.voxel} m`}, at least ${r.minCells} of them, on at least ${percent(r.minComparedShare)} of the ground that both have seen), ${[
      r.maxRmsDz !== undefined ? `the RMS height difference must not exceed ${length(r.maxRmsDz)}` : '',
      r.maxP95Dz !== undefined ? `95 % of the height differences must lie within ${length(r.maxP95Dz)}` : '',
      r.maxDz !== undefined ? `no height difference may exceed ${length(r.maxDz)}` : '',
      shiftWords(r.maxShift, 'in space'),
      shiftWords(r.maxPlanShift, 'in plan'),
      shiftWords(r.maxAxisShift, 'along x, y or z'),
      r.maxP95Plan !== undefined ? `95 % of the ${planWords(r)} must lie within ${length(r.maxP95Plan)}` : '',
      r.maxPlan !== undefined ? `none of the ${planWords(r)} may exceed ${length(r.maxPlan)}` : '',
    ]
      .filter((part) => part !== '')
      .join(', and ')}.`,

  judge({ compared, times, tracks }, requirement, context) {
    const { pairs: met, passes } = compared;
    const pairs = pairsToJudge(met, requirement.pairs, context);
    const limits = limitsOf(metrics, requirement);
    const passPairs = met.map((pair) => pairLineOf(pair, context));
    if (passes.length < 2) {
      return undetermined(
        `The delivery holds ${passes.length === 1 ? 'one pass' : 'no pass'} only (passes by ${passRuleWords(context.delivery.passRule)}), so passes could not be compared.`,
        { limits, passPairs },
      );
    }
    if (pairs.length === 0 && met.length > 0)
      return undetermined(noSuchPair(requirement.pairs, context), { limits, passPairs, advice: [HEADS_ADVICE] });
    const judged = pairs.map((pair) => judgePair(pair, requirement, context));
    const tested = judged.filter(
      (j) =>
        j.pair.cells >= requirement.minCells || (j.pair.planes >= requirement.minCells && asksForShift(requirement)),
    );
    if (tested.length === 0)
      return undetermined(tooThin(pairs, requirement), { limits, passPairs, advice: [thinAdvice(requirement)] });
    const failing = tested.filter((j) => j.state === 'fail');
    const unsure = tested.filter((j) => j.state === 'undetermined');
    const worst = [...(failing.length > 0 ? failing : unsure.length > 0 ? unsure : tested)].sort(
      (a, b) => b.excess - a.excess,
    )[0];
    const state: State = failing.length > 0 ? 'fail' : unsure.length > 0 ? 'undetermined' : 'pass';
    const skipped = judged.length - tested.length;
    const mountings = mountingsOf(
      tested.map(({ pair }) => pair),
      times,
      context,
    );
    const shown = failing.length > 1 ? [...failing].sort((a, b) => b.excess - a.excess) : [worst];
    return {
      state,
      summary: `${worst.text}${failing.length > 1 ? `; ${failing.length} of ${plural(tested.length, 'pass pair')} exceed a limit` : ''}${skipped > 0 ? `; ${plural(skipped, 'pair')} with too little common surface not judged` : ''}.`,
      measured: {
        pairs: figure(tested.length, 'count'),
        cells: figure(
          tested.reduce((sum, j) => sum + j.pair.cells, 0),
          'count',
        ),
        rmsDz: figure(
          most(tested, (p) => p.rmsDz),
          'm',
        ),
        meanDz: figure(
          most(tested, (p) => p.meanDz),
          'm',
        ),
        p95Dz: figure(
          most(tested, (p) => p.p95Dz),
          'm',
        ),
        maxDz: figure(
          most(tested, (p) => p.maxDz),
          'm',
        ),
        shift: figure(
          most(tested, (p) => p.shiftLength),
          'm',
        ),
        planShift: figure(
          most(tested, (p) => planShiftOf(p)?.length ?? null),
          'm',
        ),
        axisShift: figure(
          most(tested, (p) => axisShiftOf(p)?.length ?? null),
          'm',
        ),
        ...(asksForPlan(requirement)
          ? {
              p95Plan: figure(
                most(tested, (p) => planOffsetsOf(p)?.p95 ?? null),
                'm',
              ),
              maxPlan: figure(
                most(tested, (p) => planOffsetsOf(p)?.largest.offset ?? null),
                'm',
              ),
            }
          : {}),
        comparedShare: figure(leastShare(tested), 'share'),
        // Place in the report's passPairs, counted from 0.
        worstPair: figure(met.indexOf(worst.pair), 'count'),
        rejected: figure(
          tested.reduce((sum, j) => sum + j.pair.rejected, 0),
          'count',
        ),
      },
      limits,
      evidence: [
        ...planPlaces(worst.pair, worst.name, requirement.stretch, context),
        {
          kind: 'locations',
          title: `Largest height differences between ${shown.length > 1 ? `passes, ${plural(shown.length, 'pair')} beyond a limit` : worst.name}`,
          items: pairPlaces(shown, context),
        },
        pairTable(pairs, context),
        ...mountingTable(mountings, context),
        ...binsOf(pairs, requirement, context),
        ...heightsByPlace(tested, cellOf(requirement), requirement),
        ...judged.flatMap((j) => pairGrid(j.pair, cellOf(requirement), requirement.maxDz, context)),
        ...judged.flatMap((j) => planGrid(j.pair, requirement.stretch, requirement.maxPlan, context)),
      ],
      advice: [...adviceFor(worst.pair, state, requirement), ...shareAdvice(worst, requirement)],
      causes: state === 'pass' ? [] : passCauses(tested, worst, { times, tracks, mountings }, limits, context),
      passPairs,
    };
  },
} satisfies Check<PassAgreementOptions, typeof needs, typeof needsForCauses>;

/** Cells in which the ways of the vehicle are kept, metres. */
const TRACK_CELL = 0.5;

function shiftWords(limit: number | undefined, where: string): string {
  return limit === undefined ? '' : `no pass may be shifted against another by more than ${length(limit)} ${where}`;
}

function planWords({ stretch }: PassAgreementOptions): string {
  return `differences in plan, each over a square of ${stretch} m,`;
}

function asksForShift(r: PassAgreementOptions): boolean {
  return asksForPlan(r) || [r.maxShift, r.maxPlanShift, r.maxAxisShift].some((limit) => limit !== undefined);
}

function asksForPlan({ maxP95Plan, maxPlan }: PassAgreementOptions): boolean {
  return maxP95Plan !== undefined || maxPlan !== undefined;
}

function leastPoints({ method, minPoints }: PassAgreementOptions): number {
  return minPoints ?? (method === 'cells' ? 1 : 10);
}

/** Edge of what is compared: cells, or voxels. */
function cellOf({ method, cell, voxel }: PassAgreementOptions): number {
  return method === 'cells' ? cell : voxel;
}

function binsOf(pairs: readonly PassPair[], { method, maxRmsDz }: PassAgreementOptions, context: JudgeContext) {
  return method === 'cells' && maxRmsDz !== undefined ? [separationBins(pairs, maxRmsDz, context)] : [];
}

function most(tested: JudgedPair[], pick: (pair: PassPair) => number | null): number | null {
  let found: number | null = null;
  for (const { pair } of tested) {
    const value = pick(pair);
    if (value !== null && (found === null || Math.abs(value) > Math.abs(found))) found = value;
  }
  return found;
}

/** Of the pairs that were tested; null where none has ground in common. */
function leastShare(tested: readonly JudgedPair[]): number | null {
  const shares = tested.flatMap(({ pair }) => comparedShareOf(pair) ?? []);
  return shares.length > 0 ? shares.reduce((least, share) => Math.min(least, share)) : null;
}

function tooThin(pairs: PassPair[], r: PassAgreementOptions): string {
  if (pairs.length === 0) return 'No two passes have seen the same ground, so passes could not be compared.';
  const best = [...pairs].sort((a, b) => b.planes - a.planes || b.dense - a.dense || b.shared - a.shared)[0];
  const voxel = r.method === 'cells' ? 'cell' : 'voxel';
  if (best.dense < r.minCells) {
    return `Passes could not be compared: the best covered pair shares ${plural(best.shared, voxel)} of ${cellOf(r)} m, but ${best.dense === 0 ? 'none' : `only ${best.dense}`} of them ${best.dense <= 1 ? 'holds' : 'hold'} ${plural(leastPoints(r), 'point')} of each pass (${r.minCells} needed).`;
  }
  return `Passes could not be compared: the best covered pair shows the same ${r.method === 'cells' ? 'level ground' : 'plane'} in ${plural(best.planes, voxel)} of ${cellOf(r)} m, ${best.cells === 0 ? 'none' : best.cells} of them level (${r.minCells} needed).`;
}

function shareAdvice({ pair }: JudgedPair, r: Requirement<PassAgreementOptions>): string[] {
  return (comparedShareOf(pair) ?? 0) >= r.minComparedShare ? [] : [thinAdvice(r)];
}

function thinAdvice({ method, voxel, cell }: PassAgreementOptions): string {
  const size = method === 'cells' ? `cells (cell is ${cell} m)` : `voxels (voxel is ${voxel} m)`;
  return `Sparse clouds need larger ${size}, and passes must overlap; check also that passes are separated by the right rule.`;
}

function adviceFor(pair: PassPair, state: State, r: PassAgreementOptions): string[] {
  if (state === 'pass') return [];
  const advice: string[] = [];
  if (state === 'undetermined' && asksForShift(r) && pair.observable.some((seen) => seen))
    for (const sentence of [hiddenShiftAdvice(pair, leastPoints(r), r.voxel) ?? []].flat()) advice.push(sentence);
  if (pair.rejected > 0)
    advice.push(
      `${plural(pair.rejected, 'isolated voxel')} with a difference that the shift does not explain (vegetation, edges, objects that one pass alone saw) ${pair.rejected === 1 ? 'was' : 'were'} left out of the heights.`,
    );
  return advice;
}

import type { PassPair, PassPairs } from '../measure/pass-pairs.js';
import { passCauses } from './advice/pass-facts.js';
import type { Check, Figure, JudgeContext, Requirement, State } from './check.js';
import { maskArea } from './mask-area.js';
import { pairGrid, pairLineOf, pairPlaces, pairTable, separationBins } from './pass-evidence.js';
import {
  axisShiftOf,
  type JudgedPair,
  judgePair,
  type PassAgreementOptions,
  planShiftOf,
} from './pass-pair-verdict.js';
import { figure, length, plural, undetermined } from './wording.js';

export const passAgreement = {
  id: 'pass-agreement',
  title: { pass: 'Passes agree with one another', fail: 'Passes do not agree with one another' },
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
  schema: {
    properties: {
      maxRmsDz: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest root mean square height difference of a pass pair on level surfaces, metres.',
      },
      maxP95Dz: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest 95th percentile of the height differences of a pass pair, sign left out, metres.',
      },
      maxDz: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest single height difference on level surfaces, metres.',
      },
      maxShift: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest 3D shift of a pass against another, metres.',
      },
      maxPlanShift: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest shift of a pass against another in plan, metres.',
      },
      maxAxisShift: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest shift of a pass against another along x, y or z, each by itself, metres.',
      },
      method: {
        enum: ['planes', 'cells'],
        default: 'planes',
        description:
          '`planes` fits planes in cubes and tells shifts in space; `cells` is the published raster method on last returns, for heights only.',
      },
      voxel: {
        type: 'number',
        minimum: 0.1,
        maximum: 10,
        default: 0.5,
        description:
          'Edge of the cubes in which planes are fitted, metres; 2 suits airborne data of 10 to 20 points per square metre.',
      },
      cell: {
        type: 'number',
        minimum: 0.1,
        maximum: 100,
        default: 1,
        description: 'Edge of the cells of the method `cells`, metres: twice the cell of the elevation model.',
      },
      minPoints: {
        type: 'integer',
        minimum: 1,
        description: 'Points of each pass that a cube or cell must hold; 10 for a cube (4 at least), 1 for a cell.',
      },
      minCells: {
        type: 'integer',
        minimum: 1,
        default: 30,
        description: 'Cubes or cells in which a pass pair must meet for a verdict.',
      },
    },
    required: [],
    anyOf: [
      { required: ['maxRmsDz'] },
      { required: ['maxP95Dz'] },
      { required: ['maxDz'] },
      { required: ['maxShift'] },
      { required: ['maxPlanShift'] },
      { required: ['maxAxisShift'] },
    ],
  },
  metrics: [
    'pairs',
    'cells',
    'rmsDz',
    'meanDz',
    'p95Dz',
    'maxDz',
    'shift',
    'planShift',
    'axisShift',
    'worstPair',
    'rejected',
  ],
  limitSense: {
    rmsDz: 'at-most',
    p95Dz: 'at-most',
    maxDz: 'at-most',
    shift: 'at-most',
    planShift: 'at-most',
    axisShift: 'at-most',
  },
  quality: 'DQ_RelativeInternalPositionalAccuracy',
  canGuard: true,

  needs: (r: Requirement<PassAgreementOptions>, context: JudgeContext) => {
    const area = maskArea(context, r.zone);
    if (r.method === 'cells')
      return [{ measurement: 'swath-separation', params: { cell: r.cell, minPoints: leastPoints(r), area } }];
    return [{ measurement: 'pass-pairs', params: { voxel: r.voxel, minPoints: leastPoints(r), area } }];
  },

  /** Which way and where each pass was driven. */
  needsForCauses: ({ method, voxel }: Requirement<PassAgreementOptions>) =>
    method === 'cells'
      ? []
      : [
          { measurement: 'pass-times', params: { cell: voxel } },
          { measurement: 'pass-tracks', params: { cell: TRACK_CELL } },
        ],

  explain: ({ maxRmsDz, maxP95Dz, maxDz, maxShift, maxPlanShift, maxAxisShift, method, voxel, cell, minCells, zone }) =>
    `Wherever two passes show the same surface${zone ? ` in zone ${zone}` : ''} (${method === 'cells' ? `mean heights of last returns in cells of ${cell} m` : `planes in cubes of ${voxel} m`}, at least ${minCells} of them), ${[
      maxRmsDz !== undefined ? `the RMS height difference must not exceed ${length(maxRmsDz)}` : '',
      maxP95Dz !== undefined ? `95 % of the height differences must lie within ${length(maxP95Dz)}` : '',
      maxDz !== undefined ? `no height difference may exceed ${length(maxDz)}` : '',
      shiftWords(maxShift, 'in space'),
      shiftWords(maxPlanShift, 'in plan'),
      shiftWords(maxAxisShift, 'along x, y or z'),
    ]
      .filter((part) => part !== '')
      .join(', and ')}.`,

  judge([measured, times, tracks], requirement, context) {
    const { pairs, passes } = measured as PassPairs;
    const limits: Record<string, Figure> = {};
    if (requirement.maxRmsDz !== undefined) limits.rmsDz = figure(requirement.maxRmsDz, 'm');
    if (requirement.maxP95Dz !== undefined) limits.p95Dz = figure(requirement.maxP95Dz, 'm');
    if (requirement.maxDz !== undefined) limits.maxDz = figure(requirement.maxDz, 'm');
    if (requirement.maxShift !== undefined) limits.shift = figure(requirement.maxShift, 'm');
    if (requirement.maxPlanShift !== undefined) limits.planShift = figure(requirement.maxPlanShift, 'm');
    if (requirement.maxAxisShift !== undefined) limits.axisShift = figure(requirement.maxAxisShift, 'm');
    const passPairs = pairs.map((pair) => pairLineOf(pair, context));
    if (passes.length < 2) {
      return undetermined(
        `The delivery holds ${passes.length === 1 ? 'one pass' : 'no pass'} only (passes told by ${context.delivery.passRule.by}), so passes could not be compared.`,
        { limits, passPairs },
      );
    }
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
        // Place in the report's passPairs, counted from 0.
        worstPair: figure(pairs.indexOf(worst.pair), 'count'),
        rejected: figure(
          tested.reduce((sum, j) => sum + j.pair.rejected, 0),
          'count',
        ),
      },
      limits,
      evidence: [
        {
          kind: 'locations',
          title: `Largest height differences between ${worst.name}`,
          items: pairPlaces(worst.pair, worst.name, context),
        },
        pairTable(pairs, context),
        ...binsOf(pairs, requirement, context),
        ...judged.flatMap((j) => pairGrid(j.pair, cellOf(requirement), requirement.maxDz, context)),
      ],
      advice: adviceFor(worst.pair, state),
      causes: state === 'pass' ? [] : passCauses(tested, worst, { times, tracks }, limits, context),
      passPairs,
    };
  },
} satisfies Check<PassAgreementOptions>;

/** Cells in which the ways of the vehicle are kept, metres. */
const TRACK_CELL = 0.5;

function shiftWords(limit: number | undefined, where: string): string {
  return limit === undefined ? '' : `no pass may be shifted against another by more than ${length(limit)} ${where}`;
}

function asksForShift({ maxShift, maxPlanShift, maxAxisShift }: PassAgreementOptions): boolean {
  return [maxShift, maxPlanShift, maxAxisShift].some((limit) => limit !== undefined);
}

function leastPoints({ method, minPoints }: PassAgreementOptions): number {
  return minPoints ?? (method === 'cells' ? 1 : 10);
}

/** Edge of what is compared: cells, or cubes. */
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

function tooThin(pairs: PassPair[], r: PassAgreementOptions): string {
  if (pairs.length === 0) return 'No two passes have seen the same ground, so passes could not be compared.';
  const best = [...pairs].sort((a, b) => b.planes - a.planes || b.dense - a.dense || b.shared - a.shared)[0];
  const cube = r.method === 'cells' ? 'cell' : 'cube';
  if (best.dense < r.minCells) {
    return `Passes could not be compared: the best covered pair shares ${plural(best.shared, cube)} of ${cellOf(r)} m, but only ${best.dense} of them hold ${plural(leastPoints(r), 'point')} of each pass (${r.minCells} needed).`;
  }
  return `Passes could not be compared: the best covered pair shows the same ${r.method === 'cells' ? 'level ground' : 'plane'} in ${plural(best.planes, cube)} of ${cellOf(r)} m, ${best.cells} of them level (${r.minCells} needed).`;
}

function thinAdvice({ method, voxel, cell }: PassAgreementOptions): string {
  const size = method === 'cells' ? `cells (cell is ${cell} m)` : `cubes (voxel is ${voxel} m)`;
  return `Sparse clouds need larger ${size}, and passes must overlap; check also that passes are told apart by the right rule.`;
}

function adviceFor(pair: PassPair, state: State): string[] {
  if (state === 'pass') return [];
  const advice: string[] = [];
  if (state === 'undetermined' && pair.observable.some((seen) => seen))
    advice.push(
      'Level ground alone shows heights only: walls or kerbs in two directions are needed to tell a shift in plan.',
    );
  if (pair.rejected > 0)
    advice.push(
      `${plural(pair.rejected, 'lone outlying cube')} (something moved between the passes) ${pair.rejected === 1 ? 'was' : 'were'} left out.`,
    );
  return advice;
}

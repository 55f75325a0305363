import { fileAt, passLabel } from '../delivery/delivery.js';
import type { PassPair, PassPairs } from '../measure/pass-pairs.js';
import type { Check, Figure, JudgeContext, Location, PassPairLine, Requirement, State } from './check.js';
import { maskArea } from './mask-area.js';
import { figure, length, plural, signedLength, undetermined } from './wording.js';

export interface PassAgreementOptions {
  maxRmsDz?: number;
  maxDz?: number;
  maxShift?: number;
  voxel: number;
  minPoints: number;
  minCells: number;
}

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
      voxel: {
        type: 'number',
        minimum: 0.1,
        maximum: 10,
        default: 0.5,
        description:
          'Edge of the cubes in which planes are fitted, metres; 2 suits airborne data of 10 to 20 points per square metre.',
      },
      minPoints: {
        type: 'integer',
        minimum: 4,
        default: 10,
        description: 'Points of each pass that a cube must hold.',
      },
      minCells: {
        type: 'integer',
        minimum: 1,
        default: 30,
        description: 'Cubes in which a pass pair must meet for a verdict.',
      },
    },
    required: [],
    anyOf: [{ required: ['maxRmsDz'] }, { required: ['maxDz'] }, { required: ['maxShift'] }],
  },
  metrics: ['pairs', 'cells', 'rmsDz', 'meanDz', 'maxDz', 'shift', 'worstPair', 'rejected'],
  limitSense: { rmsDz: 'at-most', maxDz: 'at-most', shift: 'at-most' },
  quality: 'DQ_RelativeInternalPositionalAccuracy',
  canGuard: true,

  needs: ({ voxel, minPoints, zone }: Requirement<PassAgreementOptions>, context: JudgeContext) => [
    { measurement: 'pass-pairs', params: { voxel, minPoints, area: maskArea(context, zone) } },
  ],

  explain: ({ maxRmsDz, maxDz, maxShift, voxel, minCells, zone }) =>
    `Wherever two passes show the same surface${zone ? ` in zone ${zone}` : ''} (planes in cubes of ${voxel} m, at least ${minCells} of them), ${[
      maxRmsDz !== undefined ? `the RMS height difference must not exceed ${length(maxRmsDz)}` : '',
      maxDz !== undefined ? `no height difference may exceed ${length(maxDz)}` : '',
      maxShift !== undefined ? `no pass may be shifted against another by more than ${length(maxShift)} in space` : '',
    ]
      .filter((part) => part !== '')
      .join(', and ')}.`,

  judge([measured], requirement, context) {
    const { pairs, passes } = measured as PassPairs;
    const limits: Record<string, Figure> = {};
    if (requirement.maxRmsDz !== undefined) limits.rmsDz = figure(requirement.maxRmsDz, 'm');
    if (requirement.maxDz !== undefined) limits.maxDz = figure(requirement.maxDz, 'm');
    if (requirement.maxShift !== undefined) limits.shift = figure(requirement.maxShift, 'm');
    const passPairs = pairs.map((pair) => lineOf(pair, context));
    if (passes.length < 2) {
      return undetermined(
        `The delivery holds ${passes.length === 1 ? 'one pass' : 'no pass'} only (passes told by ${context.delivery.passRule.by}), so passes could not be compared.`,
        { limits, passPairs },
      );
    }
    const judged = pairs.map((pair) => judgePair(pair, requirement, context));
    const tested = judged.filter(
      (j) =>
        j.pair.cells >= requirement.minCells ||
        (j.pair.planes >= requirement.minCells && requirement.maxShift !== undefined),
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
        maxDz: figure(
          most(tested, (p) => p.maxDz),
          'm',
        ),
        shift: figure(
          most(tested, (p) => p.shiftLength),
          'm',
        ),
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
          items: places(worst.pair, worst.name, context),
        },
        pairTable(pairs, context),
        ...judged.flatMap((j) => gridOf(j.pair, requirement, context)),
      ],
      advice: adviceFor(worst.pair, state, context),
      passPairs,
    };
  },
} satisfies Check<PassAgreementOptions>;

interface Judged {
  pair: PassPair;
  name: string;
  state: State;
  /** Largest ratio of a figure to its limit. */
  excess: number;
  text: string;
}

/** Two standard deviations: the usual half width of a 95 % interval of a shift. */
const COVERAGE = 2;

function judgePair(pair: PassPair, r: Requirement<PassAgreementOptions>, context: JudgeContext): Judged {
  const name = `${passLabel(context.delivery, pair.a)} and ${passLabel(context.delivery, pair.b)}`;
  const parts: string[] = [];
  let state: State = 'pass';
  let excess = 0;
  const hold = (value: number | null, limit: number | undefined, label: string, margin = 0) => {
    if (limit === undefined) return;
    if (value === null) {
      state = state === 'fail' ? state : 'undetermined';
      parts.push(`${label} cannot be told`);
      return;
    }
    const guard = r.decision === 'guarded' ? margin : 0;
    excess = Math.max(excess, value / limit);
    parts.push(`${label} ${length(value)} (limit ${length(limit)})`);
    if (value - guard > limit) state = 'fail';
    else if (value + guard > limit && state !== 'fail') {
      state = 'undetermined';
      parts.push(`the limit lies within ${COVERAGE} standard deviations, ${length(guard)}`);
    }
  };
  hold(pair.rmsDz, r.maxRmsDz, 'RMS height difference');
  hold(pair.maxDz, r.maxDz, 'largest height difference');
  const std = Math.max(0, ...pair.directions.map((d) => d.std));
  hold(pair.shiftLength, r.maxShift, 'shift', COVERAGE * std);
  const hidden = ['x', 'y', 'z'].filter((_, axis) => !pair.observable[axis]);
  if (r.maxShift !== undefined && hidden.length > 0 && pair.shiftLength !== null) {
    parts.push(`no surface reveals the shift along ${hidden.join(' and ')}`);
    if (state === 'pass') state = 'undetermined';
  }
  return { pair, name, state, excess, text: `Between ${name}: ${parts.join(', ')}` };
}

function most(tested: Judged[], pick: (pair: PassPair) => number | null): number | null {
  let found: number | null = null;
  for (const { pair } of tested) {
    const value = pick(pair);
    if (value !== null && (found === null || Math.abs(value) > Math.abs(found))) found = value;
  }
  return found;
}

function tooThin(pairs: PassPair[], { minCells, minPoints, voxel }: PassAgreementOptions): string {
  if (pairs.length === 0) return 'No two passes have seen the same ground, so passes could not be compared.';
  const best = [...pairs].sort((a, b) => b.planes - a.planes || b.dense - a.dense || b.shared - a.shared)[0];
  if (best.dense < minCells) {
    return `Passes could not be compared: the best covered pair shares ${plural(best.shared, 'cube')} of ${voxel} m, but only ${best.dense} of them hold ${minPoints} points of each pass (${minCells} needed).`;
  }
  return `Passes could not be compared: the best covered pair shows the same plane in ${plural(best.planes, 'cube')} of ${voxel} m, ${best.cells} of them level (${minCells} needed).`;
}

function thinAdvice({ voxel }: PassAgreementOptions): string {
  return `Sparse clouds need larger cubes (voxel is ${voxel} m), and passes must overlap; check also that passes are told apart by the right rule.`;
}

function adviceFor(pair: PassPair, state: State, context: JudgeContext): string[] {
  if (state === 'pass') return [];
  const advice: string[] = [];
  const a = passLabel(context.delivery, pair.a);
  const b = passLabel(context.delivery, pair.b);
  const shift = pair.shift
    .map((v, axis) => (v === null ? null : `${signedLength(v)} in ${'xyz'[axis]}`))
    .filter((v) => v !== null);
  if (shift.length > 0 && state === 'fail')
    advice.push(
      `${b} lies ${shift.join(', ')} from ${a}: move it by the opposite, or adjust both trajectories to common control.`,
    );
  if (pair.gross.some((v) => v !== 0))
    advice.push(
      'The passes are shifted by more than the size of a cube: look for a wrong datum, a wrong unit or a lost correction before anything else.',
    );
  if (state === 'undetermined')
    advice.push(
      'Level ground alone shows heights only: walls or kerbs in two directions are needed to tell a shift in plan.',
    );
  if (pair.rejected > 0)
    advice.push(
      `${plural(pair.rejected, 'lone outlying cube')} (something moved between the passes) ${pair.rejected === 1 ? 'was' : 'were'} left out.`,
    );
  return advice;
}

function lineOf(pair: PassPair, context: JudgeContext): PassPairLine {
  const { cells, meanDz, rmsDz, maxDz, shift, shiftStd, observable } = pair;
  return {
    a: passLabel(context.delivery, pair.a),
    b: passLabel(context.delivery, pair.b),
    cells,
    meanDz,
    rmsDz,
    maxDz,
    shift,
    shiftStd,
    observable,
  };
}

function places(pair: PassPair, name: string, context: JudgeContext): Location[] {
  return pair.worst.map(({ x, y, z, dz }) => {
    const file = fileAt(context.delivery, x, y);
    return {
      x,
      y,
      z,
      ...(file ? { file } : {}),
      pass: name,
      value: dz,
      unit: 'm',
      note: 'height of the second pass over the first',
      closeUp: 1.5,
    };
  });
}

function pairTable(pairs: PassPair[], context: JudgeContext) {
  return {
    kind: 'table' as const,
    title: 'Common surface of each pass pair',
    columns: [
      { key: 'a', title: 'first pass' },
      { key: 'b', title: 'second pass' },
      { key: 'shared', title: 'cubes with points of both', unit: 'count' as const },
      { key: 'dense', title: 'with enough points', unit: 'count' as const },
      { key: 'planes', title: 'with the same plane', unit: 'count' as const },
      { key: 'cells', title: 'level, heights compared', unit: 'count' as const },
      { key: 'rejected', title: 'lone outliers left out', unit: 'count' as const },
    ],
    rows: pairs.map((p) => [
      passLabel(context.delivery, p.a),
      passLabel(context.delivery, p.b),
      p.shared,
      p.dense,
      p.planes,
      p.cells,
      p.rejected,
    ]),
  };
}

function gridOf(pair: PassPair, { voxel, maxDz }: PassAgreementOptions, context: JudgeContext) {
  const { x, y, dz } = pair.map;
  if (dz.length === 0) return [];
  return [
    {
      kind: 'grid' as const,
      title: `Height of ${passLabel(context.delivery, pair.b)} over ${passLabel(context.delivery, pair.a)}`,
      unit: 'm' as const,
      cell: voxel,
      cells: {
        column: Int32Array.from(x, (v) => Math.floor(v / voxel)),
        row: Int32Array.from(y, (v) => Math.floor(v / voxel)),
        value: dz,
      },
      ...(maxDz !== undefined ? { limit: maxDz } : {}),
      signed: true,
    },
  ];
}

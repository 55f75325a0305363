import { fileAt, passLabel } from '../delivery/delivery.js';
import { fact } from '../measure/fact-types.js';
import { likelyCauses } from './advice/index.js';
import type { Check, JudgeContext, Location, Requirement, State } from './contract/check.js';
import { atMost, limitsOf, type Metrics, metric } from './contract/metric.js';
import { figure, inZone, length, plural, undetermined } from './contract/wording.js';
import { gridOf, histogramOf, passTable, roughnessByPlace } from './passes/surface-evidence.js';
import { figuresByCells, figuresByPlanes, insideOf, type PassFigures } from './passes/surface-figures.js';

export interface SurfacePrecisionOptions {
  maxRms?: number;
  maxP95?: number;
  maxRange?: number;
  method: 'planes' | 'cells';
  voxel: number;
  minPoints: number;
  cell: number;
  minCells: number;
}

const needs = ({ method, voxel, minPoints, cell }: Requirement<SurfacePrecisionOptions>) => ({
  planes: method === 'cells' ? undefined : fact('pass-surfaces', { voxel, minPoints }),
  cells: method === 'cells' ? fact('swath-precision', { cell, minPoints }) : undefined,
});

/** The figures, and the limits they are held against. */
const metrics = {
  rms: metric('RMS', 'm', atMost('maxRms')),
  p95: metric('95th percentile', 'm', atMost('maxP95')),
  range: metric('peak-to-peak height', 'm', atMost('maxRange')),
  passes: metric('passes', 'count'),
  cells: metric('cells', 'count'),
} satisfies Metrics;

export const surfacePrecision = {
  id: 'surface-precision',
  title: 'Within-pass precision on smooth surfaces',
  why: 'What one pass shows of a smooth surface is the noise of scanner and trajectory; nothing done later takes it out, and small steps and kerbs cannot be seen in it.',
  sources: [
    {
      standard: 'ASPRS Positional Accuracy Standards, Edition 2',
      clause: '7.4',
      note: 'within-swath precision on smooth surfaces, 0.60 of the vertical class',
    },
    {
      standard: 'USGS Lidar Base Specification 2025 rev. A',
      clause: 'intraswath precision',
      note: 'the method `cells`: Range - Slope * CellSize * 1.414',
    },
    { standard: 'common practice', note: 'the method `planes`: scatter about planes of least squares' },
  ],
  schema: {
    properties: {
      maxRms: {
        type: 'number',
        exclusiveMinimum: 0,
        description:
          'Largest root mean square of a pass, metres: of the distances of points from level planes, or of the slope-corrected ranges by `cells`.',
      },
      maxP95: {
        type: 'number',
        exclusiveMinimum: 0,
        description: 'Largest 95th percentile over the cells of a pass, metres.',
      },
      maxRange: {
        type: 'number',
        exclusiveMinimum: 0,
        description:
          'Largest peak-to-peak value with the slope taken off, metres: of nine neighbouring planes by `planes`, of the points of a cell by `cells`.',
      },
      method: {
        enum: ['planes', 'cells'],
        default: 'planes',
        description:
          '`planes` fits planes in voxels; `cells` is the published raster method, on single returns, for sample areas given as zones.',
      },
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
        description: 'Points of the pass that a voxel or cell must hold.',
      },
      cell: {
        type: 'number',
        minimum: 0.1,
        maximum: 100,
        default: 2,
        description: 'Edge of the cells of the method `cells`, metres: twice the nominal point spacing rounded up.',
      },
      minCells: {
        type: 'integer',
        minimum: 1,
        default: 100,
        description: 'Voxels or cells that a pass must show for a verdict.',
      },
    },
    required: [],
    anyOf: [{ required: ['maxRms'] }, { required: ['maxP95'] }, { required: ['maxRange'] }],
  },
  metrics,
  quality: 'DQ_RelativeInternalPositionalAccuracy',
  canGuard: true,

  needs,

  explain: ({ maxRms, maxP95, maxRange, method, voxel, cell, minCells, zone }) =>
    `On level surfaces of each single pass${zone ? ` in zone ${zone}` : ''} (${method === 'cells' ? `slope-corrected range of single returns in cells of ${cell} m` : `planes in voxels of ${voxel} m`}, at least ${minCells} of them), ${[
      maxRms !== undefined ? `the RMS must not exceed ${length(maxRms)}` : '',
      maxP95 !== undefined ? `the 95th percentile must not exceed ${length(maxP95)}` : '',
      maxRange !== undefined ? `no peak-to-peak value with the slope taken off may exceed ${length(maxRange)}` : '',
    ]
      .filter((part) => part !== '')
      .join(', and ')}.`,

  judge(facts, requirement, context) {
    const limits = limitsOf(metrics, requirement);
    const inside = insideOf(requirement.zone, context);
    const all =
      requirement.method === 'cells'
        ? facts.cells!.map((pass) => figuresByCells(pass, inside))
        : facts.planes!.map((pass) => figuresByPlanes(pass, inside));
    const tested = all.filter((pass) => pass.cells >= requirement.minCells);
    if (tested.length === 0) {
      const most = all.reduce((most, { cells }) => Math.max(most, cells), 0);
      return undetermined(
        `No pass shows enough horizontal surface ${inZone(requirement.zone)}: at most ${plural(most, 'cell')}, ${requirement.minCells} needed.`,
        {
          limits,
          advice: [
            `Sparse clouds need larger ${requirement.method === 'cells' ? `cells (cell is ${requirement.cell} m)` : `voxels (voxel is ${requirement.voxel} m)`}.`,
          ],
        },
      );
    }
    const judged = tested.map((pass) => judgePass(pass, requirement, context));
    const failing = judged.filter((j) => j.state === 'fail');
    const unsure = judged.filter((j) => j.state === 'undetermined');
    const state: State = failing.length > 0 ? 'fail' : unsure.length > 0 ? 'undetermined' : 'pass';
    const [worst] = [...(failing.length > 0 ? failing : unsure.length > 0 ? unsure : judged)].sort(
      (a, b) => b.excess - a.excess,
    );
    const top = (pick: (f: PassFigures) => number | null) => {
      const values = tested.map(pick).filter((v) => v !== null);
      return values.length > 0 ? values.reduce((a, b) => Math.max(a, b)) : null;
    };
    const cells = tested.reduce((sum, f) => sum + f.cells, 0);
    return {
      state,
      summary: `${worst.text}${failing.length > 1 ? `; ${failing.length} of ${plural(judged.length, 'pass', 'passes')} exceed a limit` : ''}.`,
      measured: {
        passes: figure(tested.length, 'count'),
        cells: figure(cells, 'count'),
        rms: figure(
          top((f) => f.rms),
          'm',
        ),
        p95: figure(
          top((f) => f.p95),
          'm',
        ),
        range: figure(
          top((f) => f.range),
          'm',
        ),
      },
      limits,
      evidence: [
        { kind: 'locations', title: `Roughest places of ${worst.name}`, items: placesOf(worst, context) },
        passTable(all, requirement.minCells, context),
        histogramOf(worst, requirement),
        gridOf(worst, requirement),
        ...roughnessByPlace(judged, requirement),
      ],
      advice: [],
      causes: state === 'fail' ? causesOf(worst, requirement) : [],
    };
  },
} satisfies Check<SurfacePrecisionOptions, typeof needs>;

interface Judged {
  figures: PassFigures;
  name: string;
  state: State;
  excess: number;
  text: string;
}

/** One-sided 95 % quantile of the normal distribution. */
const ONE_SIDED = 1.645;

function judgePass(f: PassFigures, r: Requirement<SurfacePrecisionOptions>, context: JudgeContext): Judged {
  const name = passLabel(context.delivery, f.pass);
  const parts: string[] = [];
  let state: State = 'pass';
  let excess = 0;
  const hold = (value: number | null, limit: number | undefined, label: string) => {
    if (limit === undefined) return;
    if (value === null) {
      if (state === 'pass') state = 'undetermined';
      parts.push(`${label} cannot be determined`);
      return;
    }
    excess = Math.max(excess, value / limit);
    parts.push(`${label} ${length(value)} (limit ${length(limit)})`);
    if (value > limit) state = 'fail';
  };
  if (r.decision === 'guarded' && r.maxRms !== undefined && f.rms !== null) {
    const margin = ONE_SIDED * f.squareError;
    const low = Math.sqrt(Math.max(0, f.rms ** 2 - margin));
    const high = Math.sqrt(f.rms ** 2 + margin);
    excess = f.rms / r.maxRms;
    parts.push(`RMS ${length(f.rms)} (limit ${length(r.maxRms)}, 95 % bounds ${length(low)} to ${length(high)})`);
    if (low > r.maxRms) state = 'fail';
    else if (high > r.maxRms) state = 'undetermined';
  } else hold(f.rms, r.maxRms, 'RMS');
  hold(f.p95, r.maxP95, '95th percentile');
  hold(f.range, r.maxRange, 'peak to peak');
  return { figures: f, name, state, excess, text: `Within ${name}: ${parts.join(', ')}` };
}

function placesOf({ figures, name }: Judged, context: JudgeContext): Location[] {
  return figures.worst.map(({ x, y, z, value, note }) => {
    const file = fileAt(context.delivery, x, y);
    return { x, y, z, ...(file ? { file } : {}), pass: name, value, unit: 'm', note, crossSectionRadius: 2 };
  });
}

function causesOf({ figures: { rms, range }, name }: Judged, r: SurfacePrecisionOptions) {
  return likelyCauses('surface', { pass: name, rms, maxRms: r.maxRms ?? null, range, maxRange: r.maxRange ?? null });
}

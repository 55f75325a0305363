import { fileAt, passLabel } from '../delivery/delivery.js';
import { pointInPolygons } from '../geometry/polygon.js';
import { placesOfLargest } from '../geometry/ranking.js';
import { percentileOfSorted } from '../geometry/statistics.js';
import type { PassSurface } from '../measure/pass-surfaces.js';
import type { SwathPrecision } from '../measure/swath-precision.js';
import { likelyCauses } from './advice/index.js';
import type { Check, Evidence, Figure, JudgeContext, Location, Requirement, State } from './check.js';
import { figure, inZone, length, plural, undetermined } from './wording.js';

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

export const surfacePrecision = {
  id: 'surface-precision',
  title: {
    pass: 'Smooth surfaces come out smooth within each pass',
    fail: 'Smooth surfaces come out rough within a pass',
  },
  why: 'What one pass shows of a smooth surface is the noise of scanner and trajectory; nothing done later takes it out, and small steps and kerbs drown in it.',
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
          '`planes` fits planes in cubes; `cells` is the published raster method, on single returns, for sample areas given as zones.',
      },
      voxel: {
        type: 'number',
        minimum: 0.1,
        maximum: 10,
        default: 0.5,
        description: 'Edge of the cubes in which planes are fitted, metres.',
      },
      minPoints: {
        type: 'integer',
        minimum: 4,
        default: 10,
        description: 'Points of the pass that a cube or cell must hold.',
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
        description: 'Cubes or cells that a pass must show for a verdict.',
      },
    },
    required: [],
    anyOf: [{ required: ['maxRms'] }, { required: ['maxP95'] }, { required: ['maxRange'] }],
  },
  metrics: ['passes', 'cells', 'rms', 'p95', 'range'],
  limitSense: { rms: 'at-most', p95: 'at-most', range: 'at-most' },
  quality: 'DQ_RelativeInternalPositionalAccuracy',
  canGuard: true,

  needs: ({ method, voxel, minPoints, cell }: Requirement<SurfacePrecisionOptions>) => [
    method === 'cells'
      ? { measurement: 'swath-precision', params: { cell, minPoints } }
      : { measurement: 'pass-surfaces', params: { voxel, minPoints } },
  ],

  explain: ({ maxRms, maxP95, maxRange, method, voxel, cell, minCells, zone }) =>
    `On level surfaces of each single pass${zone ? ` in zone ${zone}` : ''} (${method === 'cells' ? `slope-corrected range of single returns in cells of ${cell} m` : `planes in cubes of ${voxel} m`}, at least ${minCells} of them), ${[
      maxRms !== undefined ? `the RMS must not exceed ${length(maxRms)}` : '',
      maxP95 !== undefined ? `the 95th percentile must not exceed ${length(maxP95)}` : '',
      maxRange !== undefined ? `no peak-to-peak value with the slope taken off may exceed ${length(maxRange)}` : '',
    ]
      .filter((part) => part !== '')
      .join(', and ')}.`,

  judge([measured], requirement, context) {
    const limits: Record<string, Figure> = {};
    if (requirement.maxRms !== undefined) limits.rms = figure(requirement.maxRms, 'm');
    if (requirement.maxP95 !== undefined) limits.p95 = figure(requirement.maxP95, 'm');
    if (requirement.maxRange !== undefined) limits.range = figure(requirement.maxRange, 'm');
    const inside = insideOf(requirement, context);
    const all =
      requirement.method === 'cells'
        ? (measured as SwathPrecision[]).map((pass) => figuresByCells(pass, inside))
        : (measured as PassSurface[]).map((pass) => figuresByPlanes(pass, inside));
    const tested = all.filter((pass) => pass.cells >= requirement.minCells);
    if (tested.length === 0) {
      const most = Math.max(0, ...all.map((pass) => pass.cells));
      return undetermined(
        `No pass shows enough level surface ${inZone(requirement.zone)}: at most ${plural(most, 'cell')}, ${requirement.minCells} needed.`,
        {
          limits,
          advice: [
            `Sparse clouds need larger ${requirement.method === 'cells' ? `cells (cell is ${requirement.cell} m)` : `cubes (voxel is ${requirement.voxel} m)`}.`,
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
      return values.length > 0 ? Math.max(...values) : null;
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
        passTable(all, requirement, context),
        histogramOf(worst, requirement),
        gridOf(worst, requirement),
      ],
      advice: [],
      causes: state === 'fail' ? causesOf(worst, requirement) : [],
    };
  },
} satisfies Check<SurfacePrecisionOptions>;

/** One pass in figures; `null`: cannot be told. */
interface PassFigures {
  pass: number;
  /** Level patches of the pass, rough ones among them, and the smooth ones that are judged. */
  level: number;
  rough: number;
  cells: number;
  rms: number | null;
  /** Standard error of the mean square, from cell to cell. */
  squareError: number;
  p95: number | null;
  range: number | null;
  x: Float64Array;
  y: Float64Array;
  /** RMS or slope-corrected range of each cell. */
  value: Float64Array;
  worst: { x: number; y: number; z: number; value: number; note: string }[];
}

type Inside = (x: number, y: number) => boolean;
const WORST = 10;

function insideOf({ zone }: Requirement<SurfacePrecisionOptions>, { delivery }: JudgeContext): Inside {
  if (zone === undefined) return () => true;
  const polygons = delivery.zones.find((z) => z.name === zone)?.polygons ?? [];
  return (x, y) => pointInPolygons(x, y, polygons);
}

function figuresByPlanes(surface: PassSurface, inside: Inside): PassFigures {
  const { pass, x, y, z, points, variance, range, level, rough } = surface;
  const zone: number[] = [];
  for (let i = 0; i < x.length; i++) if (inside(x[i], y[i])) zone.push(i);
  const value = new Float64Array(zone.length);
  const squares = new Float64Array(zone.length);
  const weights = new Float64Array(zone.length);
  const ranges = new Float64Array(zone.length);
  zone.forEach((i, k) => {
    value[k] = Math.sqrt(variance[i]);
    squares[k] = variance[i];
    weights[k] = points[i] - 3;
    ranges[k] = range[i];
  });
  const [mean, squareError] = weightedMean(squares, weights);
  const largest = placesOfLargest(ranges, WORST).map((k) => zone[k]);
  const some = zone.length > 0;
  return {
    pass,
    level,
    rough,
    cells: zone.length,
    rms: some ? Math.sqrt(mean) : null,
    // Both lattices see each surface: only half of the patches are independent of one another.
    squareError: squareError * Math.SQRT2,
    p95: some ? percentileOfSorted(value.slice().sort(), 95) : null,
    range: some ? range[largest[0]] : null,
    x: Float64Array.from(zone, (i) => x[i]),
    y: Float64Array.from(zone, (i) => y[i]),
    value,
    worst: largest.map((i) => ({
      x: x[i],
      y: y[i],
      z: z[i],
      value: range[i],
      note: 'peak to peak of nine neighbouring planes, slope taken off',
    })),
  };
}

function figuresByCells(cells: SwathPrecision, inside: Inside): PassFigures {
  const zone = [...cells.x.keys()].filter((i) => inside(cells.x[i], cells.y[i]));
  const value = Float64Array.from(zone, (i) => cells.precision[i]);
  const sorted = Float64Array.from(value).sort();
  const [mean, squareError] = weightedMean(
    zone.map((i) => cells.precision[i] ** 2),
    zone.map(() => 1),
  );
  return {
    pass: cells.pass,
    level: cells.x.length,
    rough: 0,
    cells: zone.length,
    rms: zone.length > 0 ? Math.sqrt(mean) : null,
    squareError,
    p95: zone.length > 0 ? percentileOfSorted(sorted, 95) : null,
    range: zone.length > 0 ? sorted[sorted.length - 1] : null,
    x: Float64Array.from(zone, (i) => cells.x[i]),
    y: Float64Array.from(zone, (i) => cells.y[i]),
    value,
    worst: [...zone]
      .sort((a, b) => cells.precision[b] - cells.precision[a] || a - b)
      .slice(0, WORST)
      .map((i) => ({
        x: cells.x[i],
        y: cells.y[i],
        z: cells.z[i],
        value: cells.precision[i],
        note: 'range of heights in the cell, slope taken off',
      })),
  };
}

/** Weighted mean and its standard error from the scatter of the values. */
function weightedMean(values: ArrayLike<number>, weights: ArrayLike<number>): [number, number] {
  let weight = 0;
  let sum = 0;
  for (let i = 0; i < values.length; i++) {
    weight += weights[i];
    sum += weights[i] * values[i];
  }
  if (weight === 0) return [0, 0];
  const mean = sum / weight;
  let squares = 0;
  for (let i = 0; i < values.length; i++) squares += (weights[i] * (values[i] - mean)) ** 2;
  return [mean, Math.sqrt(squares) / weight];
}

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
      parts.push(`${label} cannot be told`);
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
    return { x, y, z, ...(file ? { file } : {}), pass: name, value, unit: 'm', note, closeUp: 2 };
  });
}

function passTable(
  all: readonly PassFigures[],
  { minCells }: SurfacePrecisionOptions,
  context: JudgeContext,
): Evidence {
  return {
    kind: 'table',
    title: 'Precision of each pass',
    columns: [
      { key: 'pass', title: 'pass' },
      { key: 'level', title: 'level cells', unit: 'count' },
      { key: 'rough', title: 'rough ones left out', unit: 'count' },
      { key: 'cells', title: 'smooth cells judged', unit: 'count' },
      { key: 'rms', title: 'RMS', unit: 'm' },
      { key: 'p95', title: '95th percentile', unit: 'm' },
      { key: 'range', title: 'peak to peak', unit: 'm' },
      { key: 'judged', title: 'judged' },
    ],
    rows: all.map((f) => [
      passLabel(context.delivery, f.pass),
      f.level,
      f.rough,
      f.cells,
      f.rms,
      f.p95,
      f.range,
      f.cells >= minCells ? 'yes' : 'too few cells',
    ]),
  };
}

/** Twenty equal classes up to the 99th percentile; the last takes the rest, the first what lies below zero. */
function histogramOf({ figures, name }: Judged, r: SurfacePrecisionOptions): Evidence {
  const sorted = Float64Array.from(figures.value).sort();
  const top = Math.max(percentileOfSorted(sorted, 99), 1e-4);
  const edges = Array.from({ length: 21 }, (_, k) => (k * top) / 20);
  const counts = new Array<number>(20).fill(0);
  for (const v of sorted) counts[Math.min(19, Math.max(0, Math.floor((v / top) * 20)))]++;
  return {
    kind: 'histogram',
    title: `Cells of ${name} by ${r.method === 'cells' ? 'slope-corrected range' : 'RMS about the plane'}`,
    unit: 'm',
    edges,
    counts,
    ...(r.maxP95 !== undefined ? { limit: r.maxP95, sense: 'at-most' as const } : {}),
  };
}

/** One value a cell of the plan: where several patches fall into one, the roughest. */
function gridOf({ figures, name }: Judged, r: SurfacePrecisionOptions): Evidence {
  const cell = r.method === 'cells' ? r.cell : r.voxel;
  const places = new Map<string, { column: number; row: number; value: number }>();
  figures.x.forEach((x, i) => {
    const column = Math.floor(x / cell);
    const row = Math.floor(figures.y[i] / cell);
    const key = `${column} ${row}`;
    const known = places.get(key);
    if (!known) places.set(key, { column, row, value: figures.value[i] });
    else if (figures.value[i] > known.value) known.value = figures.value[i];
  });
  const cells = [...places.values()].sort((a, b) => a.row - b.row || a.column - b.column);
  return {
    kind: 'grid',
    title: `Roughness within ${name}`,
    unit: 'm',
    cell,
    cells: {
      column: Int32Array.from(cells, (c) => c.column),
      row: Int32Array.from(cells, (c) => c.row),
      value: Float64Array.from(cells, (c) => c.value),
    },
    ...(r.maxP95 !== undefined ? { limit: r.maxP95, sense: 'at-most' as const } : {}),
    signed: false,
  };
}

function causesOf({ figures: { rms, range }, name }: Judged, r: SurfacePrecisionOptions) {
  return likelyCauses('surface', { pass: name, rms, maxRms: r.maxRms ?? null, range, maxRange: r.maxRange ?? null });
}

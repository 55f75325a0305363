import { createLevelPlane, heightOn, type LevelPlane, levelPlaneFromMoments } from '../geometry/level-plane.js';
import { median, nmad } from '../geometry/statistics.js';
import { insideArea } from './cells/inside-area.js';
import type { MaskArea } from './cells/zone-mask.js';
import { type Derivation, QUANTA_PER_METRE, requestFrom } from './contract/measurement.js';
import { EDGE_FIELDS, type TileEdges, type TileEdgesParams, tileEdges } from './tile-edges.js';
import { type WallShift, wallShifts } from './tiles/wall-shifts.js';

/** Borders, and which cells along them are compared. */
export interface EdgeStepsParams extends TileEdgesParams {
  /** Points a side of a cell must hold for a plane. */
  minPoints: number;
  /** Cells in a row from which on a slit in a part of the border is reported. */
  row: number;
  /** Only cells whose middle lies inside count; null: all. */
  area?: MaskArea | null;
}

/** One pass across one border. Metres. */
export interface EdgeStep {
  /** Place in the list of borders. */
  border: number;
  pass: number;
  /** Cells along the border with a level plane on both sides: median of high minus low at the border, its deviation. */
  cells: number;
  step: number | null;
  stepStd: number | null;
  /** Numbers of the cells along the border with points on both sides, and of those with a step: both ascending. */
  shared: number[];
  compared: number[];
  /**
   * How far vertical surfaces that cross the border are shifted along their normals, high minus low: number of surfaces (in
   * layers of height), median and its deviation, metres.
   */
  walls: number;
  shift: number | null;
  shiftStd: number | null;
  /** Direction of those normals, the only one in which a shift is seen: degrees clockwise from grid north, 0 up to 180. */
  shiftBearing: number | null;
  /** Whether both sides end along a straight line, as where points were cut off; asked where the files are apart. */
  straight: boolean;
  /**
   * Cells with points on both sides, and the median width without a point between them in those where one side has enough points for
   * a plane: where points are sparse, their spacing is a width. Null where there are none.
   */
  gapCells: number;
  gap: number | null;
  /**
   * The widest slit that so many cells in a row have, between the first and the last cell with points on both sides; the width of
   * the strip where one side has no points. One of the two sides must have enough points for a plane. Null where no row is so long.
   */
  partGap: number | null;
  /** The cells with the largest steps and gaps. World metres. */
  places: { x: number; y: number; z: number; step: number | null; gap: number }[];
}

const MAX_SLOPE = Math.tan((10 * Math.PI) / 180);
/**
 * Two planes of one even surface differ in slope by no more than this and three standard deviations, and never by more than 5
 * degrees. A crown or a kerb inside the strip turns one of the planes, and its height at the border is then off: by 7 mm where
 * the slope changes by 5 % a third of a metre from the border.
 */
const EVEN_SLOPE = 0.01;
const SLOPE_FACTOR = 3;
const MOST_SLOPE = Math.tan((5 * Math.PI) / 180);
/**
 * Thickest plane (RMS), and least spread of its points, shares of the cell. Sleepers, ballast and grass are thicker: their
 * height at the border depends on their material, and a step between such surfaces is not evidence.
 */
const THICK = 0.02;
const SPREAD = 0.12;
const WORST = 5;

/** The same pass on both sides of a border between files: step and gap, metres; one entry for each border and pass. */
export const edgeSteps: Derivation<'edge-steps', typeof tileEdges, EdgeStepsParams, EdgeStep[]> = {
  id: 'edge-steps',
  parameters: {
    borders: 'required',
    depth: 'required',
    cell: 'required',
    minPoints: 'required',
    row: 'required',
    area: 'optional',
  },
  from: ({ borders, depth, cell }) => requestFrom(tileEdges, { borders, depth, cell }),

  derive(state, { minPoints, row, area = null }) {
    const inside = insideArea(area);
    const groups = new Map<string, { border: number; pass: number; sides: [Strip, Strip] }>();
    for (const record of state.keys.sorted()) {
      const side = state.keys.part(record, 0);
      const pass = state.keys.part(record, 1);
      const key = `${side >> 1} ${pass}`;
      let group = groups.get(key);
      if (!group) {
        group = { border: side >> 1, pass, sides: [new Map(), new Map()] };
        groups.set(key, group);
      }
      const strip = group.sides[side & 1];
      const along = state.keys.part(record, 2);
      const known = strip.get(along);
      if (known) known.push(record);
      else strip.set(along, [record]);
    }
    return [...groups.values()]
      .sort((p, q) => p.border - q.border || p.pass - q.pass)
      .map((group) => compareSides(state, group, { minPoints: Math.max(4, minPoints), row }, inside));
  },
};

/** Cell along the border -> its records, layers from below. */
type Strip = Map<number, number[]>;

function compareSides(
  state: TileEdges,
  { border, pass, sides }: { border: number; pass: number; sides: [Strip, Strip] },
  { minPoints, row }: { minPoints: number; row: number },
  inside: (x: number, y: number) => boolean,
): EdgeStep {
  const { alongX, at, half } = state.edges[border];
  const line = at / QUANTA_PER_METRE;
  const placeOf = (along: number): [number, number] => {
    const middle = ((along + 0.5) * state.cell) / QUANTA_PER_METRE;
    return alongX ? [middle, line] : [line, middle];
  };
  const isInside = (along: number) => {
    const [x, y] = placeOf(along);
    return inside(x, y);
  };
  const steps: number[] = [];
  const gaps: number[] = [];
  const shared: number[] = [];
  const compared: number[] = [];
  const ends: [number[], number[]] = [[], []];
  const shifts: WallShift[] = [];
  const places: EdgeStep['places'] = [];
  for (const along of [...sides[0].keys()].sort((p, q) => p - q)) {
    const there = sides[1].get(along);
    if (!there) continue;
    if (!isInside(along)) continue;
    const [x, y] = placeOf(along);
    const here = sides[0].get(along)!;
    const near = [here, there].map((records) =>
      records.reduce(
        (least, record) => Math.min(least, state.records[record * EDGE_FIELDS + 10]),
        Number.POSITIVE_INFINITY,
      ),
    );
    const gap = Math.max(0, near[0] + near[1]) / QUANTA_PER_METRE;
    if (isDense(state, [here, there], minPoints)) gaps.push(gap);
    shared.push(along);
    for (const k of [0, 1]) ends[k].push(near[k] / QUANTA_PER_METRE);
    if (half === 0) for (const shift of wallShifts(state, here, there, minPoints)) shifts.push(shift);
    const low = lowestPlane(state, here, minPoints);
    const high = lowestPlane(state, there, minPoints);
    const same =
      half === 0 &&
      low !== null &&
      high !== null &&
      isSameSlope(low.alongSlope - high.alongSlope, low, high) &&
      isSameSlope(low.inwardSlope + high.inwardSlope, low, high);
    const step = same ? (high.height - low.height) / QUANTA_PER_METRE : null;
    if (step !== null) {
      steps.push(step);
      compared.push(along);
    }
    const z = (low ?? high)?.height ?? state.keys.part(here[0], 3) * state.layer;
    places.push({ x, y, z: z / QUANTA_PER_METRE, step, gap });
  }
  const size = (p: EdgeStep['places'][number]) => Math.abs(p.step ?? 0) + p.gap;
  return {
    border,
    pass,
    cells: steps.length,
    step: steps.length > 0 ? median(steps) : null,
    stepStd: medianStd(steps),
    shared,
    compared,
    walls: shifts.length,
    shift: shifts.length > 0 ? median(shifts.map(({ shift }) => shift)) : null,
    shiftStd: medianStd(shifts.map(({ shift }) => shift)),
    shiftBearing: bearingOf(shifts, alongX),
    straight: ends.every(isStraight),
    gapCells: shared.length,
    gap: gaps.length > 0 ? median(gaps) : null,
    partGap: partGapOf(state, sides, shared, half === 0 ? row : Number.POSITIVE_INFINITY, minPoints, isInside),
    places: places.sort((p, q) => size(q) - size(p) || p.x - q.x || p.y - q.y).slice(0, WORST),
  };
}

/** Distance of the nearest point from the border, quanta. */
function nearestOf(state: TileEdges, records: readonly number[]): number {
  return records.reduce(
    (near, record) => Math.min(near, state.records[record * EDGE_FIELDS + 10]),
    Number.POSITIVE_INFINITY,
  );
}

/** Mean direction of normals, which have no sign: the angles are doubled. Degrees clockwise from grid north, 0 up to 180. */
function bearingOf(shifts: readonly WallShift[], alongX: boolean): number | null {
  if (shifts.length === 0) return null;
  let [cos, sin] = [0, 0];
  for (const { normal } of shifts) {
    const [east, north] = alongX ? normal : [normal[1], normal[0]];
    cos += north * north - east * east;
    sin += 2 * north * east;
  }
  return ((Math.atan2(sin, cos) * 90) / Math.PI + 180) % 180;
}

/** The widest slit that `row` cells in a row have, metres; null where there are not so many in a row. */
function partGapOf(
  state: TileEdges,
  sides: readonly [Strip, Strip],
  shared: readonly number[],
  row: number,
  minPoints: number,
  isInside: (along: number) => boolean,
): number | null {
  const widths: number[] = [];
  let widest: number | null = null;
  for (let along = shared[0]; along <= shared[shared.length - 1]; along++) {
    const width = isInside(along) ? slitOf(state, sides, along, minPoints) : null;
    if (width === null) widths.length = 0;
    else widths.push(width);
    if (widths.length < row) continue;
    const least = widths.slice(widths.length - row).reduce((a, b) => Math.min(a, b));
    if (widest === null || least > widest) widest = least;
  }
  return widest;
}

/** Whether one of the two sides of a cell holds so many points. */
function isDense(state: TileEdges, sides: readonly (readonly number[])[], minPoints: number): boolean {
  return sides.some((side) => side.reduce((sum, r) => sum + state.records[r * EDGE_FIELDS], 0) >= minPoints);
}

/** Width without points across the border in one cell, metres; null where neither side has enough points to show it. */
function slitOf(state: TileEdges, sides: readonly [Strip, Strip], along: number, minPoints: number): number | null {
  const records = sides.map((side) => side.get(along) ?? []);
  if (!isDense(state, records, minPoints)) return null;
  const near = records.map((some) => Math.min(nearestOf(state, some), state.depth));
  return Math.max(0, near[0] + near[1]) / QUANTA_PER_METRE;
}

/** Standard deviation of a median: sqrt(pi / 2) times that of a mean. */
function medianStd(values: readonly number[]): number | null {
  return values.length > 1 ? (Math.sqrt(Math.PI / 2) * nmad(values)) / Math.sqrt(values.length) : null;
}

/** Cut-off points end within this distance of a line (metres), in at least this share of the cells. */
const STRAIGHT = 0.25;
const STRAIGHT_SHARE = 0.6;

function isStraight(ends: readonly number[]): boolean {
  if (ends.length === 0) return false;
  const nearest = ends.reduce((a, b) => Math.min(a, b));
  return ends.filter((end) => end - nearest <= STRAIGHT).length >= STRAIGHT_SHARE * ends.length;
}

interface BorderPlane {
  /** Height at the border in the middle of the cell, quanta from world 0. */
  height: number;
  alongSlope: number;
  inwardSlope: number;
  /** Variance of the slopes, from the scatter of the points about the plane. */
  slopeVariance: number;
}

function isSameSlope(difference: number, low: BorderPlane, high: BorderPlane): boolean {
  const noise = SLOPE_FACTOR * Math.sqrt(low.slopeVariance + high.slopeVariance);
  return Math.abs(difference) <= Math.min(MOST_SLOPE, EVEN_SLOPE + noise);
}

const moments = new Float64Array(10);
const plane: LevelPlane = createLevelPlane();

/** The lowest level plane of a cell: two layers at a time, so that a surface between two layers is not cut. */
function lowestPlane(state: TileEdges, records: readonly number[], minPoints: number): BorderPlane | null {
  const thickest = (THICK * state.cell) ** 2;
  const narrowest = (SPREAD * Math.min(state.cell, state.depth)) ** 2;
  for (const record of records) {
    const layer = state.keys.part(record, 3);
    const above = records.find((other) => state.keys.part(other, 3) === layer + 1);
    moments.fill(0);
    addLayer(state, record, 0);
    if (above !== undefined) addLayer(state, above, state.layer);
    if (moments[0] < minPoints || !levelPlaneFromMoments(moments, 0, plane)) continue;
    if (plane.variance > thickest || plane.spread < narrowest) continue;
    if (Math.hypot(plane.slopeX, plane.slopeY) > MAX_SLOPE) continue;
    return {
      height: layer * state.layer + heightOn(plane, state.cell / 2, 0),
      alongSlope: plane.slopeX,
      inwardSlope: plane.slopeY,
      slopeVariance: plane.variance / (plane.n * plane.spread),
    };
  }
  return null;
}

/** Adds the moments of one layer, its heights raised by so many quanta. */
function addLayer(state: TileEdges, record: number, up: number): void {
  const m = state.records;
  const r = record * EDGE_FIELDS;
  const n = m[r];
  for (let k = 0; k < 10; k++) moments[k] += m[r + k];
  moments[3] += n * up;
  moments[6] += m[r + 1] * up;
  moments[8] += m[r + 2] * up;
  moments[9] += 2 * up * m[r + 3] + n * up * up;
}

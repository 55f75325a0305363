import { type Shift, solveShift } from '../geometry/least-squares.js';
import { findOutliers } from '../geometry/outliers.js';
import { largestBySquare } from '../geometry/ranking.js';
import { Scratch } from '../geometry/scratch.js';
import { percentile } from '../geometry/statistics.js';
import { insideArea } from './cells/inside-area.js';
import { KeyTable } from './cells/key-table.js';
import type { MaskArea } from './cells/zone-mask.js';
import { type BlockDerivation, QUANTA_PER_METRE, requestFrom } from './contract/measurement.js';
import { askMoved, type movedPlanes } from './moved-planes.js';
import { planeMoments } from './plane-moments.js';
import { alongRoad } from './planes/along-road.js';
import { comparedArea, type GroundCompared } from './planes/compared-area.js';
import { COS_LEVEL, joinPairPlanes, type PairPlanes } from './planes/pair-planes.js';
import {
  collectPassPairs,
  gatherOverlap,
  type PassOverlap,
  type PassPairsPart,
  pairKey,
} from './planes/pass-overlap.js';
import type { PlaneBlock } from './planes/plane-block.js';
import { type HorizontalShiftCell, horizontalShiftCells } from './planes/shift-cells.js';
import { type SeenDirection, seenDirections } from './planes/shift-directions.js';
import { shiftInMetres } from './planes/shift-in-metres.js';
import { countUpright, type WallPlanes, wallPlanes } from './planes/wall-planes.js';

export interface PassPairsParams {
  /** Edge of the voxels in which planes are fitted, metres. */
  voxel: number;
  /** Points of each pass that a voxel must hold. */
  minPoints: number;
  /** Coarsest step of the stored coordinates, metres; none: 0. */
  coordinateStep?: number;
  /** Only surfaces inside count; null: all. */
  area?: MaskArea | null;
  /** Edge of the squares over which the horizontal shift is estimated by itself, metres; none: it is not. */
  stretch?: number;
  /** Whether the upright planes are kept, for offsets along GPS time. */
  walls?: boolean;
}

/** Two passes compared where both have seen the same surfaces. Lengths in metres; differences are b minus a. */
export interface PassPair extends GroundCompared {
  a: number;
  b: number;
  /** Voxels that hold points of both passes; those with enough points; those with the same plane in both. */
  shared: number;
  dense: number;
  planes: number;
  /** Level voxels whose heights were compared, and how many more were set aside as isolated outliers. */
  cells: number;
  rejected: number;
  meanDz: number | null;
  rmsDz: number | null;
  maxDz: number | null;
  p95Dz: number | null;
  /** Null on an axis that no surface reveals. */
  shift: (number | null)[];
  shiftStd: (number | null)[];
  observable: boolean[];
  /**
   * Upright planes; voxels in which both passes show the same upright surface, but one of them with too few points for a
   * plane, and the sum of that smaller number of points; voxels whose upright surface is too rough. Absent for cells.
   */
  upright?: { planes: number; sparse: number; sparsePoints: number; rough: number };
  /** Length of the part of the shift that can be seen; null when nothing can. */
  shiftLength: number | null;
  /** Directions in which the shift can be seen, with its size there. */
  directions: SeenDirection[];
  /** Shift taken off before the fine comparison, metres; zeros for all but grossly shifted passes. */
  gross: number[];
  /** Largest height differences, with their places in world metres. */
  worst: { x: number; y: number; z: number; dz: number }[];
  /** Heights compared, cell by cell: world metres of the centre and b minus a, for maps. */
  map: { x: Float64Array; y: Float64Array; dz: Float64Array };
  /** The horizontal shift, square by square, where that was asked for. */
  stretches?: HorizontalShiftCell[];
  /** The upright planes, where they were asked for. */
  walls?: WallPlanes;
}

export interface PassPairs {
  voxel: number;
  passes: number[];
  pairs: PassPair[];
}

/** Residuals beyond 4 NMAD are outliers; never tighter than 2 mm, so that a very quiet pair does not flag its own noise. */
const OUTLIER = { rejectFactor: 4, rejectFloor: 0.002 * QUANTA_PER_METRE };
/** Shortest section of road whose own shift is compared with the mean, metres. */
const SECTION = 3;
const WORST = 10;
/** Edge of the squares of which each gives one of the largest differences, metres. */
const WORST_SQUARE = 25;

/**
 * Every pair of passes that overlaps, compared in 3D on the planes both have seen: signed distances along the normals
 * give the shift of pass b by least squares, level planes give the height differences. Passes that are farther apart
 * than a voxel never show a plane in the same one: they are read again, the one moved by whole sub-voxels.
 */
export const passPairs: BlockDerivation<
  'pass-pairs',
  typeof planeMoments,
  PassPairsParams,
  PlaneBlock,
  PassPairsPart,
  PassOverlap,
  PassPairs,
  typeof movedPlanes
> = {
  id: 'pass-pairs',
  parameters: {
    voxel: 'required',
    minPoints: 'required',
    coordinateStep: 'optional',
    area: 'optional',
    stretch: 'optional',
    walls: 'optional',
  },
  from: ({ voxel }) => requestFrom(planeMoments, { voxel }),
  local: ({ voxel, minPoints, coordinateStep }) => ({ voxel, minPoints, coordinateStep }),
  collect: collectPassPairs,
  gather: gatherOverlap,
  secondReading: ({ pairs }, params) => pairs.flatMap((pair) => askMoved(pair, params) ?? []),

  combine(overlap, params, known) {
    const area = params.area ?? null;
    const { side, passes, planes: found, squares } = overlap;
    const scale = overlap.quantum / QUANTA_PER_METRE;
    const pairs = overlap.pairs.map((pair) => {
      const { a, b, by } = pair;
      const ask = askMoved(pair, params);
      const key = pairKey(a, b);
      const { planes, squares: ground } = ask
        ? known(ask)
        : { planes: joinPairPlanes(found.get(key) ?? []), squares: squares.get(key) ?? [] };
      const gross = by.map((steps) => -steps * side * scale + 0);
      const inside = planes ? keepInside(planes, area, side, scale) : null;
      const pairOnly = comparePair(a, b, inside, side, scale, gross);
      const dz = (pairOnly.shift[2] ?? pairOnly.meanDz ?? 0) - gross[2];
      const compared = {
        ...pairOnly,
        ...comparedArea(ground, inside, 2 * side * scale, area),
        ...(params.walls && inside ? { walls: wallPlanes(inside, { side, scale, gross, dz }) } : {}),
      };
      if (params.stretch === undefined) return compared;
      const how = { side, scale, gross, edge: params.stretch, outliers: OUTLIER };
      return { ...compared, stretches: inside ? horizontalShiftCells(inside, how) : [] };
    });
    return { voxel: params.voxel, passes, pairs };
  },
};

/** World metres of plane i on one axis. */
function placeOf({ corner, offset }: PairPlanes, i: number, axis: number, side: number, scale: number): number {
  return (corner[i * 3 + axis] * side + offset[i * 3 + axis]) * scale;
}

/** Drops the planes outside the area. */
function keepInside(planes: PairPlanes, area: MaskArea | null, side: number, scale: number): PairPlanes {
  if (area === null) return planes;
  const inside = insideArea(area);
  const kept: number[] = [];
  for (let i = 0; i < planes.count; i++) {
    if (inside(placeOf(planes, i, 0, side, scale), placeOf(planes, i, 1, side, scale))) kept.push(i);
  }
  const three = (k: number) => kept[Math.floor(k / 3)] * 3 + (k % 3);
  return {
    ...planes,
    count: kept.length,
    corner: planes.corner.slice(0, kept.length * 3).map((_, k) => planes.corner[three(k)]),
    offset: planes.offset.slice(0, kept.length * 3).map((_, k) => planes.offset[three(k)]),
    normal: planes.normal.slice(0, kept.length * 3).map((_, k) => planes.normal[three(k)]),
    distance: planes.distance.slice(0, kept.length).map((_, k) => planes.distance[kept[k]]),
    variance: planes.variance.slice(0, kept.length).map((_, k) => planes.variance[kept[k]]),
  };
}

/** A pair but for the ground it was compared on. */
type Comparison = Omit<PassPair, keyof GroundCompared>;

function comparePair(
  a: number,
  b: number,
  planes: PairPlanes | null,
  side: number,
  scale: number,
  gross: number[],
): Comparison {
  if (!planes || planes.count === 0) return unseenPair(a, b, planes, gross);
  const { count } = planes;
  const { along, axis } = alongRoad(planes, side, scale);
  const noise = { variances: planes.variance, along, section: SECTION };
  const solution = solveShift(planes.normal, planes.distance, count, { ...OUTLIER, ...noise });
  const isolated = isolatedOutliers(planes, flagOutliers(solution, planes));
  const heights = heightDifferences(planes, isolated, side, scale, gross[2]);
  const { shift, std, observable, directions } = shiftInMetres(solution, scale, gross);
  return {
    a,
    b,
    shared: planes.shared,
    dense: planes.dense,
    planes: count,
    ...heights,
    shift,
    shiftStd: std,
    observable,
    shiftLength: directions.length > 0 ? Math.hypot(...directions.map((d) => d.distance)) : null,
    directions: seenDirections(solution, axis, scale, gross),
    upright: {
      planes: countUpright(planes),
      sparse: planes.sparse,
      sparsePoints: planes.sparsePoints,
      rough: planes.rough,
    },
    gross,
  };
}

function unseenPair(a: number, b: number, planes: PairPlanes | null, gross: number[]): Comparison {
  return {
    a,
    b,
    shared: planes?.shared ?? 0,
    dense: planes?.dense ?? 0,
    planes: 0,
    cells: 0,
    rejected: 0,
    meanDz: null,
    rmsDz: null,
    maxDz: null,
    p95Dz: null,
    shift: [null, null, null],
    shiftStd: [null, null, null],
    observable: [false, false, false],
    shiftLength: null,
    directions: [],
    gross,
    worst: [],
    map: { x: new Float64Array(0), y: new Float64Array(0), dz: new Float64Array(0) },
  };
}

/** Flags the planes whose distance the solved shift does not explain. */
function flagOutliers({ estimate: [x, y, z] }: Shift, { normal, distance, count }: PairPlanes): Uint8Array {
  const residuals = scratch.take(count);
  for (let i = 0, k = 0; i < count; i++, k += 3)
    residuals[i] = distance[i] - (normal[k] * x + normal[k + 1] * y + normal[k + 2] * z);
  return findOutliers(residuals, { factor: OUTLIER.rejectFactor, floor: OUTLIER.rejectFloor }).flags;
}

const scratch = new Scratch();

/**
 * Outliers with fewer than two outlying neighbours: a bird, a kerb stone, a moved chair. Outliers beside one another are a step between the
 * passes, exactly what is looked for, and stay in the height statistics.
 */
function isolatedOutliers(planes: PairPlanes, flags: Uint8Array): Uint8Array {
  const flagged = new KeyTable();
  const { corner } = planes;
  for (let i = 0; i < planes.count; i++) {
    if (flags[i]) flagged.add(corner[i * 3], corner[i * 3 + 1], corner[i * 3 + 2], 0);
  }
  const isolated = new Uint8Array(planes.count);
  for (let i = 0; i < planes.count; i++) {
    if (!flags[i]) continue;
    const [x, y, z] = corner.subarray(i * 3, i * 3 + 3);
    let neighbours = -1;
    for (let dx = -2; dx <= 2; dx += 2) {
      for (let dy = -2; dy <= 2; dy += 2) {
        for (let dz = -2; dz <= 2; dz += 2) if (flagged.find(x + dx, y + dy, z + dz, 0) >= 0) neighbours++;
      }
    }
    isolated[i] = neighbours < 2 ? 1 : 0;
  }
  return isolated;
}

function heightDifferences(planes: PairPlanes, isolated: Uint8Array, side: number, scale: number, gross: number) {
  const { normal, distance, count } = planes;
  let levels = 0;
  let rejected = 0;
  const isLevel = (i: number) => Math.abs(normal[i * 3 + 2]) >= COS_LEVEL;
  for (let i = 0; i < count; i++) {
    if (!isLevel(i)) continue;
    if (isolated[i]) rejected++;
    else levels++;
  }
  const level = new Int32Array(levels);
  for (let i = 0, k = 0; i < count; i++) if (isLevel(i) && !isolated[i]) level[k++] = i;
  const map = {
    x: new Float64Array(level.length),
    y: new Float64Array(level.length),
    dz: new Float64Array(level.length),
  };
  const absolute = scratch.take(level.length);
  let sum = 0;
  let squares = 0;
  for (let k = 0; k < level.length; k++) {
    const i = level[k];
    const dz = (distance[i] / normal[i * 3 + 2]) * scale + gross;
    map.x[k] = placeOf(planes, i, 0, side, scale);
    map.y[k] = placeOf(planes, i, 1, side, scale);
    map.dz[k] = dz;
    absolute[k] = Math.abs(dz);
    sum += dz;
    squares += dz * dz;
  }
  const { dz } = map;
  if (dz.length === 0)
    return { cells: 0, rejected, meanDz: null, rmsDz: null, maxDz: null, p95Dz: null, worst: [], map };
  const largest = largestBySquare(map, absolute, WORST_SQUARE, WORST);
  const worst = largest.map((k) => ({
    x: map.x[k],
    y: map.y[k],
    z: placeOf(planes, level[k], 2, side, scale),
    dz: dz[k],
  }));
  return {
    cells: dz.length,
    rejected,
    meanDz: sum / dz.length,
    rmsDz: Math.sqrt(squares / dz.length),
    maxDz: absolute[largest[0]],
    p95Dz: percentile(absolute, 95),
    worst,
    map,
  };
}

import { type Shift, solveShift } from '../geometry/least-squares.js';
import { findOutliers } from '../geometry/outliers.js';
import { percentile } from '../geometry/statistics.js';
import { findGrossShift, outlinePasses, sharedColumns } from './gross-shift.js';
import { insideArea } from './inside-area.js';
import { KeyTable } from './key-table.js';
import { QUANTA_PER_METRE } from './measurement.js';
import { collectPairPlanes, FIELDS, type PairPlanes } from './pair-planes.js';
import type { PlaneMoments } from './plane-moments.js';
import { passesOf } from './voxel-lattice.js';
import type { MaskArea } from './zone-mask.js';

export interface PassPairsParams {
  /** Edge of the cubes in which planes are fitted, metres. */
  voxel: number;
  /** Points of each pass that a voxel must hold. */
  minPoints: number;
  /** Only surfaces inside count; null: all. */
  area?: MaskArea | null;
}

/** Two passes compared where both have seen the same surfaces. Lengths in metres; differences are b minus a. */
export interface PassPair {
  a: number;
  b: number;
  /** Voxels that hold points of both passes; those with enough points; those with the same plane in both. */
  shared: number;
  dense: number;
  planes: number;
  /** Level voxels whose heights were compared, and how many more were set aside as lone outliers. */
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
  /** Length of the part of the shift that can be seen; null when nothing can. */
  shiftLength: number | null;
  /** Directions in which the shift can be seen, with its size there. */
  directions: { direction: number[]; distance: number; std: number }[];
  /** Shift taken off before the fine comparison, metres; zeros for all but grossly shifted passes. */
  gross: number[];
  /** Largest height differences, with their places in world metres. */
  worst: { x: number; y: number; z: number; dz: number }[];
  /** Heights compared, cell by cell: world metres of the centre and b minus a, for maps. */
  map: { x: Float64Array; y: Float64Array; dz: Float64Array };
}

export interface PassPairs {
  voxel: number;
  passes: number[];
  pairs: PassPair[];
}

/** A pass pair with fewer plan columns in common than this does not overlap in any useful sense. */
const MIN_SHARED_COLUMNS = 4;
const MIN_GROSS_COLUMNS = 20;
/** Residuals beyond 4 NMAD are outliers; never tighter than 2 mm, so that a very quiet pair does not flag its own noise. */
const OUTLIER = { rejectFactor: 4, rejectFloor: 0.002 * QUANTA_PER_METRE };
const WORST = 10;

/**
 * Every pair of passes that overlaps, compared in 3D on the planes both have seen: signed distances along the normals
 * give the shift of pass b by least squares, level planes give the height differences.
 */
export const passPairs = {
  id: 'pass-pairs',
  from: ({ voxel }: PassPairsParams) => ({ measurement: 'plane-moments', params: { voxel } }),

  derive(state: PlaneMoments, { voxel, minPoints, area = null }: PassPairsParams): PassPairs {
    const passes = passesOf(state);
    const outlines = outlinePasses(state, passes);
    const found = new Map(
      collectPairPlanes(state, passes, minPoints, null).map((pair) => [`${pair.a} ${pair.b}`, pair]),
    );
    const pairs: PassPair[] = [];
    for (let i = 0; i < passes.length; i++) {
      for (let j = i + 1; j < passes.length; j++) {
        if (sharedColumns(outlines[i], outlines[j]) < MIN_SHARED_COLUMNS) continue;
        const by = findGrossShift(outlines[i], outlines[j], state.side, MIN_GROSS_COLUMNS);
        const plain = found.get(`${passes[i]} ${passes[j]}`);
        const planes = by.some((steps) => steps !== 0)
          ? collectPairPlanes(state, [passes[i], passes[j]], minPoints, { pass: passes[j], by })[0]
          : plain;
        const scale = state.quantum / QUANTA_PER_METRE;
        const gross = by.map((steps) => -steps * state.side * scale + 0);
        const inside = planes ? keepInside(planes, area, scale) : null;
        pairs.push(comparePair(passes[i], passes[j], inside, scale, gross));
      }
    }
    return { voxel, passes, pairs };
  },
};

/** Drops the planes outside the area. */
function keepInside(planes: PairPlanes, area: MaskArea | null, scale: number): PairPlanes {
  if (area === null) return planes;
  const inside = insideArea(area);
  const kept: number[] = [];
  for (let i = 0; i < planes.count; i++) {
    const x = planes.rows[i * FIELDS + 4] * scale;
    const y = planes.rows[i * FIELDS + 5] * scale;
    if (inside(x, y)) kept.push(i);
  }
  const rows = new Float64Array(kept.length * FIELDS);
  const voxels = new Int32Array(kept.length * 3);
  kept.forEach((i, k) => {
    rows.set(planes.rows.subarray(i * FIELDS, (i + 1) * FIELDS), k * FIELDS);
    voxels.set(planes.voxels.subarray(i * 3, (i + 1) * 3), k * 3);
  });
  return { ...planes, count: kept.length, rows, voxels };
}

function comparePair(a: number, b: number, planes: PairPlanes | null, scale: number, gross: number[]): PassPair {
  if (!planes || planes.count === 0) return unseenPair(a, b, planes, gross);
  const { rows, count } = planes;
  const normals = new Float64Array(count * 3);
  const distances = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    for (let k = 0; k < 3; k++) normals[i * 3 + k] = rows[i * FIELDS + k];
    distances[i] = rows[i * FIELDS + 3];
  }
  const solution = solveShift(normals, distances, count, OUTLIER);
  const lone = loneOutliers(planes, flagOutliers(solution, normals, distances, count));
  const heights = heightDifferences(planes, lone, scale, gross[2]);
  const shift = solution.shift.map((v, axis) => (v === null ? null : v * scale + gross[axis]));
  const seen = solution.directions.map(({ direction, distance, std }) => ({
    direction: [...direction],
    distance: distance * scale + direction[0] * gross[0] + direction[1] * gross[1] + direction[2] * gross[2],
    std: std * scale,
  }));
  return {
    a,
    b,
    shared: planes.shared,
    dense: planes.dense,
    planes: count,
    ...heights,
    shift,
    shiftStd: solution.std.map((v) => (v === null ? null : v * scale)),
    observable: [...solution.observable],
    shiftLength: seen.length > 0 ? Math.hypot(...seen.map((d) => d.distance)) : null,
    directions: seen,
    gross,
  };
}

function unseenPair(a: number, b: number, planes: PairPlanes | null, gross: number[]): PassPair {
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
function flagOutliers(solution: Shift, normals: Float64Array, distances: Float64Array, count: number): Uint8Array {
  const residuals = Float64Array.from(distances);
  for (const { direction, distance } of solution.directions) {
    for (let i = 0; i < count; i++) {
      const along =
        normals[i * 3] * direction[0] + normals[i * 3 + 1] * direction[1] + normals[i * 3 + 2] * direction[2];
      residuals[i] -= along * distance;
    }
  }
  return findOutliers(residuals, { factor: OUTLIER.rejectFactor, floor: OUTLIER.rejectFloor }).flags;
}

/**
 * Outliers with fewer than two outlying neighbours: a bird, a kerb stone, a moved chair. Outliers that stand together are a step between the
 * passes, exactly what is looked for, and stay in the height statistics.
 */
function loneOutliers(planes: PairPlanes, flags: Uint8Array): Uint8Array {
  const flagged = new KeyTable();
  for (let i = 0; i < planes.count; i++) {
    if (flags[i]) flagged.add(planes.voxels[i * 3], planes.voxels[i * 3 + 1], planes.voxels[i * 3 + 2], 0);
  }
  const lone = new Uint8Array(planes.count);
  for (let i = 0; i < planes.count; i++) {
    if (!flags[i]) continue;
    const [x, y, z] = planes.voxels.subarray(i * 3, i * 3 + 3);
    let neighbours = -1;
    for (let dx = -2; dx <= 2; dx += 2) {
      for (let dy = -2; dy <= 2; dy += 2) {
        for (let dz = -2; dz <= 2; dz += 2) if (flagged.find(x + dx, y + dy, z + dz, 0) >= 0) neighbours++;
      }
    }
    lone[i] = neighbours < 2 ? 1 : 0;
  }
  return lone;
}

function heightDifferences(planes: PairPlanes, lone: Uint8Array, scale: number, gross: number) {
  const level: number[] = [];
  let rejected = 0;
  for (let i = 0; i < planes.count; i++) {
    if (Number.isNaN(planes.rows[i * FIELDS + 7])) continue;
    if (lone[i]) rejected++;
    else level.push(i);
  }
  const at = (i: number, field: number) => planes.rows[i * FIELDS + field] * scale;
  const dz = Float64Array.from(level, (i) => at(i, 7) + gross);
  const map = { x: Float64Array.from(level, (i) => at(i, 4)), y: Float64Array.from(level, (i) => at(i, 5)), dz };
  if (dz.length === 0)
    return { cells: 0, rejected, meanDz: null, rmsDz: null, maxDz: null, p95Dz: null, worst: [], map };
  let sum = 0;
  let squares = 0;
  for (const v of dz) {
    sum += v;
    squares += v * v;
  }
  const absolute = dz.map(Math.abs);
  const order = Int32Array.from(absolute, (_, k) => k).sort((p, q) => absolute[q] - absolute[p] || p - q);
  const worst = [...order.subarray(0, WORST)].map((k) => ({ x: map.x[k], y: map.y[k], z: at(level[k], 6), dz: dz[k] }));
  return {
    cells: dz.length,
    rejected,
    meanDz: sum / dz.length,
    rmsDz: Math.sqrt(squares / dz.length),
    maxDz: absolute[order[0]],
    p95Dz: percentile(absolute, 95),
    worst,
    map,
  };
}

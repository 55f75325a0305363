import { scratch, free, side } from './block';
import {
  beginRecords,
  count,
  groupAt,
  groupOf,
  nextIndex,
  recordAt,
  recordCount,
  recordOf,
  roomForColumns,
  SECOND_COUNT,
  FIRST_COUNT,
  THIRD_COUNT,
  FOURTH_COUNT,
  FIFTH_COUNT,
} from './groups';
import { CENTROID, fitPlane, NORMAL, PLANE_BYTES, RMS, VALUES } from './plane';
import { at, copyCorner, storePosition, visitVoxels } from './visit';

// Limits: when the points of a voxel are a plane, and when two planes are the same surface.
let minPoints: f64 = 0;
let maxRms: f64 = 0;
let minSpread: f64 = 0;
let minCosine: f64 = 0;
let minNoise: f64 = 0;

/** Fewest points of a plane that is counted as too sparse, and the number of parameters that a plane costs. */
const FEWEST: f64 = 4;
const PARAMETERS: f64 = 3;
/** A surface is upright up to this height of its unit normal, about 25 degrees. */
const UPRIGHT: f64 = 0.42;
/** Points scatter too far for a plane, but still about a surface, up to this many times the largest root mean square. */
const ROUGH: f64 = 3;
/** Largest number of times that a point is used by a plane of any direction, over both lattices; 1.41 for the diagonals of a face. */
const MOST_USES: f64 = 1.5;

/**
 * Compares every two passes in every voxel. Kind 0, passes a and b. First count: voxels where both have points; second
 * count: voxels where both have enough points for a plane. Third: voxels where both show the same upright surface, but one of
 * them with too few points; fourth: sum of the smaller number of points of these. Fifth: voxels with enough points in which
 * an upright surface is too rough in either pass to be a plane. One record for each voxel where both have the same plane.
 * Columns: corner of the voxel (three i32), mean normal (three f32), distance of b from a along it (f32, quanta), variance
 * of that distance (f32, square quanta), mean position of both from the corner (three u16, quanta).
 * @param points fewest points of a plane
 * @param rms largest root mean square distance of the points from their plane, quanta
 * @param spread smallest second eigenvalue of the points' covariance, square quanta
 * @param cosine smallest cosine between the normals of two planes of the same surface
 * @param noise smallest variance that is assumed of a point's distance from its plane, square quanta: that of its rounding
 * @returns address of the columns; 0 where memory is short
 */
export function visitPairs(points: f64, rms: f64, spread: f64, cosine: f64, noise: f64): usize {
  minPoints = points;
  maxRms = rms;
  minSpread = spread;
  minCosine = cosine;
  minNoise = noise;
  beginRecords(free, 40);
  return visitVoxels(pairsOfVoxel) ? pairColumns() : 0;
}

function pairColumns(): usize {
  const n = <usize>recordCount();
  const corners = roomForColumns(38 * n + 16);
  if (corners == 0) return 0;
  const normals = corners + 12 * n;
  const distances = normals + 12 * n;
  const variances = distances + 4 * n;
  const offsets = variances + 4 * n;
  for (let i = 0; i < <i32>n; i++) {
    const record = recordAt(i);
    const k = nextIndex(groupAt(record));
    copyCorner(record, corners + 12 * k, offsets + 6 * k);
    store<u64>(normals + 12 * k, load<u64>(record, 20));
    store<u32>(normals + 12 * k, load<u32>(record, 28), 8);
    store<u32>(distances + 4 * k, load<u32>(record, 32));
    store<u32>(variances + 4 * k, load<u32>(record, 36));
  }
  return corners;
}

function pairsOfVoxel(from: i32, to: i32): bool {
  if (to - from < 2) return true;
  for (let i = from; i < to; i++) fit(at(i), scratch + <usize>(i - from) * PLANE_BYTES);
  for (let i = from; i < to; i++) {
    for (let j = i + 1; j < to; j++) {
      const a = scratch + <usize>(i - from) * PLANE_BYTES;
      const b = scratch + <usize>(j - from) * PLANE_BYTES;
      if (!compare(at(i), at(j), a, b)) return false;
    }
  }
  return true;
}

/** Fits a plane to the points of a voxel. The plane's number of points is 0 where they are too few or lie on a line. */
function fit(voxel: usize, plane: usize): void {
  store<f64>(plane, 0);
  if (load<f64>(voxel, 16) < min(minPoints, FEWEST)) return;
  fitPlane(voxel + 16, plane);
  if (!(load<f64>(plane, VALUES + 8) >= minSpread)) store<f64>(plane, 0);
}

// @ts-ignore: decorator
@inline
function isUpright(plane: usize, thickness: f64): bool {
  return load<f64>(plane) > 0 && abs(load<f64>(plane, NORMAL + 16)) <= UPRIGHT && load<f64>(plane, RMS) <= thickness;
}

// @ts-ignore: decorator
@inline
function isPlane(plane: usize): bool {
  return load<f64>(plane) > 0 && load<f64>(plane, RMS) <= maxRms;
}

/** Compares the planes of two passes in a voxel. @returns false where memory is short */
function compare(voxelA: usize, voxelB: usize, a: usize, b: usize): bool {
  const pair = groupOf(0, load<i32>(voxelA, 12), load<i32>(voxelB, 12));
  if (pair == 0) return false;
  count(pair, FIRST_COUNT);
  const fewest = min(load<f64>(voxelA, 16), load<f64>(voxelB, 16));
  if (fewest < minPoints) {
    if (isUpright(a, maxRms) && isUpright(b, maxRms)) {
      count(pair, THIRD_COUNT);
      count(pair, FOURTH_COUNT, <i32>fewest);
    }
    return true;
  }
  count(pair, SECOND_COUNT);
  if (!isPlane(a) || !isPlane(b)) {
    if (isUpright(a, ROUGH * maxRms) && isUpright(b, ROUGH * maxRms)) count(pair, FIFTH_COUNT);
    return true;
  }
  const ax = load<f64>(a, NORMAL);
  const ay = load<f64>(a, NORMAL + 8);
  const az = load<f64>(a, NORMAL + 16);
  const bx = load<f64>(b, NORMAL);
  const by = load<f64>(b, NORMAL + 8);
  const bz = load<f64>(b, NORMAL + 16);
  const dot = ax * bx + ay * by + az * bz;
  if (min(1.0, abs(dot)) < minCosine) return true;
  // A normal has no preferred side: the second is flipped to agree with the first.
  const flip: f64 = dot < 0 ? -1 : 1;
  let nx = ax + flip * bx;
  let ny = ay + flip * by;
  let nz = az + flip * bz;
  const length = sqrt(nx * nx + ny * ny + nz * nz);
  nx /= length;
  ny /= length;
  nz /= length;
  const x = (load<f64>(a, CENTROID) + load<f64>(b, CENTROID)) / 2;
  const y = (load<f64>(a, CENTROID + 8) + load<f64>(b, CENTROID + 8)) / 2;
  const z = (load<f64>(a, CENTROID + 16) + load<f64>(b, CENTROID + 16)) / 2;
  // Surfaces far from the centre are left out: a shift would move part of them out of the voxel and bias the distance low.
  const fromCentre = (x - side) * nx + (y - side) * ny + (z - side) * nz;
  if (abs(fromCentre) > side / 2) return true;
  // Both planes are evaluated midway between the centroids, so that unevenly spread points on a tilted surface cause no distance.
  const hx = (load<f64>(b, CENTROID) - load<f64>(a, CENTROID)) / 2;
  const hy = (load<f64>(b, CENTROID + 8) - load<f64>(a, CENTROID + 8)) / 2;
  const hz = (load<f64>(b, CENTROID + 16) - load<f64>(a, CENTROID + 16)) / 2;
  const alongA = hx * ax + hy * ay + hz * az;
  const alongB = flip * (hx * bx + hy * by + hz * bz);
  // The mean normal makes the same angle with both unit normals.
  const distance = (alongA + alongB) / sqrt((1 + abs(dot)) / 2);
  const record = recordOf(pair);
  if (record == 0) return false;
  storePosition(record, voxelA, x, y, z);
  store<f32>(record, <f32>nx, 20);
  store<f32>(record, <f32>ny, 24);
  store<f32>(record, <f32>nz, 28);
  store<f32>(record, <f32>distance, 32);
  const variance = varianceAt(a, hx, hy, hz) * usesOf(a) + varianceAt(b, hx, hy, hz) * usesOf(b);
  store<f32>(record, <f32>variance, 36);
  return true;
}

/**
 * Variance of a fitted plane's height at a place off its centroid, s^2 / n (1 + t1^2 / l1 + t2^2 / l2): t1 and t2 are the
 * distances along the axes of the points, l1 and l2 their eigenvalues, s^2 the variance of the points about the plane with
 * divisor n - 3.
 */
function varianceAt(plane: usize, x: f64, y: f64, z: f64): f64 {
  const n = load<f64>(plane);
  const noise = max(minNoise, (load<f64>(plane, VALUES) * n) / max(1, n - PARAMETERS));
  const t1 = x * load<f64>(plane, NORMAL + 24) + y * load<f64>(plane, NORMAL + 32) + z * load<f64>(plane, NORMAL + 40);
  const t2 = x * load<f64>(plane, NORMAL + 48) + y * load<f64>(plane, NORMAL + 56) + z * load<f64>(plane, NORMAL + 64);
  return (noise / n) * (1 + (t1 * t1) / load<f64>(plane, VALUES + 8) + (t2 * t2) / load<f64>(plane, VALUES + 16));
}

/**
 * How often the two lattices use a point of such a surface, on average. Their accepted voxels are as many as faces of a
 * voxel would cover the surface, but a voxel cuts a larger piece out of an oblique surface. The piece is 12 sqrt(l1 l2) large
 * (a rectangle of evenly spread points has the eigenvalues a^2 / 12 and b^2 / 12).
 */
function usesOf(plane: usize): f64 {
  const area = 12 * sqrt(load<f64>(plane, VALUES + 8) * load<f64>(plane, VALUES + 16));
  return min(MOST_USES, max(1, area / (4 * side * side)));
}

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
} from './groups';
import { CENTROID, fitPlane, NORMAL, PLANE_BYTES, RMS, VALUES } from './plane';
import { at, copyCorner, storePosition, visitVoxels } from './visit';

// Limits: when the points of a voxel are a plane, and when two planes are the same surface.
let minPoints: f64 = 0;
let maxRms: f64 = 0;
let minSpread: f64 = 0;
let minCosine: f64 = 0;

/**
 * Compares every two passes in every voxel. Kind 0, passes a and b. First count: voxels where both have points; second
 * count: voxels where both have enough points for a plane. One record for each voxel where both have the same plane.
 * Columns: corner of the voxel (three i32), mean normal (three f32), distance of b from a along it (f32, quanta), mean
 * position of both from the corner (three u16, quanta).
 * @param points fewest points of a plane
 * @param rms largest root mean square distance of the points from their plane, quanta
 * @param spread smallest second eigenvalue of the points' covariance, square quanta
 * @param cosine smallest cosine between the normals of two planes of the same surface
 * @returns address of the columns; 0 where memory is short
 */
export function visitPairs(points: f64, rms: f64, spread: f64, cosine: f64): usize {
  minPoints = points;
  maxRms = rms;
  minSpread = spread;
  minCosine = cosine;
  beginRecords(free, 36);
  return visitVoxels(pairsOfVoxel) ? pairColumns() : 0;
}

function pairColumns(): usize {
  const n = <usize>recordCount();
  const corners = roomForColumns(34 * n + 16);
  if (corners == 0) return 0;
  const normals = corners + 12 * n;
  const distances = normals + 12 * n;
  const offsets = distances + 4 * n;
  for (let i = 0; i < <i32>n; i++) {
    const record = recordAt(i);
    const k = nextIndex(groupAt(record));
    copyCorner(record, corners + 12 * k, offsets + 6 * k);
    store<u64>(normals + 12 * k, load<u64>(record, 20));
    store<u32>(normals + 12 * k, load<u32>(record, 28), 8);
    store<u32>(distances + 4 * k, load<u32>(record, 32));
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

/** Fits a plane to the points of a voxel. The plane's number of points is 0 where they are no plane. */
function fit(voxel: usize, plane: usize): void {
  store<f64>(plane, 0);
  if (load<f64>(voxel, 16) < minPoints) return;
  fitPlane(voxel + 16, plane);
  if (!(load<f64>(plane, RMS) <= maxRms && load<f64>(plane, VALUES + 8) >= minSpread)) store<f64>(plane, 0);
}

/** Compares the planes of two passes in a voxel. @returns false where memory is short */
function compare(voxelA: usize, voxelB: usize, a: usize, b: usize): bool {
  const pair = groupOf(0, load<i32>(voxelA, 12), load<i32>(voxelB, 12));
  if (pair == 0) return false;
  count(pair, FIRST_COUNT);
  if (load<f64>(voxelA, 16) < minPoints || load<f64>(voxelB, 16) < minPoints) return true;
  count(pair, SECOND_COUNT);
  if (load<f64>(a) == 0 || load<f64>(b) == 0) return true;
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
  return true;
}

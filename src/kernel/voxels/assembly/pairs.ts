import { besides, free, side } from './area';
import {
  beginRecords,
  count,
  groupAt,
  groupOf,
  nextPlace,
  recordAt,
  recordCount,
  recordOf,
  roomForColumns,
  SECOND_TALLY,
  TALLY,
} from './groups';
import { CENTROID, fitPlane, NORMAL, PLANE, RMS, VALUES } from './plane';
import { at, copyCorner, placeIn, visitVoxels } from './visit';

// What makes a plane of a voxel, and two of them the same surface.
let leastPoints: f64 = 0;
let mostRms: f64 = 0;
let leastSpread: f64 = 0;
let leastCosine: f64 = 0;

/**
 * Every two passes in every voxel. Kind 0, a and b; tallies: voxels where both have points, and where both have enough of
 * them for a plane. Records: the same plane in both. Columns: corner of the voxel (three i32), mean normal (three f32),
 * distance of b from a along it (f32), mean place of both from the corner (three u16, rounded).
 */
export function visitPairs(points: f64, rms: f64, spread: f64, cosine: f64): usize {
  leastPoints = points;
  mostRms = rms;
  leastSpread = spread;
  leastCosine = cosine;
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
    const k = nextPlace(groupAt(record));
    copyCorner(record, corners + 12 * k, offsets + 6 * k);
    store<u64>(normals + 12 * k, load<u64>(record, 20));
    store<u32>(normals + 12 * k, load<u32>(record, 28), 8);
    store<u32>(distances + 4 * k, load<u32>(record, 32));
  }
  return corners;
}

function pairsOfVoxel(from: i32, to: i32): bool {
  if (to - from < 2) return true;
  for (let i = from; i < to; i++) fit(at(i), besides + <usize>(i - from) * PLANE);
  for (let i = from; i < to; i++) {
    for (let j = i + 1; j < to; j++) {
      const a = besides + <usize>(i - from) * PLANE;
      const b = besides + <usize>(j - from) * PLANE;
      if (!compare(at(i), at(j), a, b)) return false;
    }
  }
  return true;
}

/** The number of points becomes 0 where there is no plane. */
function fit(voxel: usize, plane: usize): void {
  store<f64>(plane, 0);
  if (load<f64>(voxel, 16) < leastPoints) return;
  fitPlane(voxel + 16, plane);
  if (!(load<f64>(plane, RMS) <= mostRms && load<f64>(plane, VALUES + 8) >= leastSpread)) store<f64>(plane, 0);
}

/** @returns false where there is not memory enough */
function compare(voxelA: usize, voxelB: usize, a: usize, b: usize): bool {
  const pair = groupOf(0, load<i32>(voxelA, 12), load<i32>(voxelB, 12));
  if (pair == 0) return false;
  count(pair, TALLY);
  if (load<f64>(voxelA, 16) < leastPoints || load<f64>(voxelB, 16) < leastPoints) return true;
  count(pair, SECOND_TALLY);
  if (load<f64>(a) == 0 || load<f64>(b) == 0) return true;
  const ax = load<f64>(a, NORMAL);
  const ay = load<f64>(a, NORMAL + 8);
  const az = load<f64>(a, NORMAL + 16);
  const bx = load<f64>(b, NORMAL);
  const by = load<f64>(b, NORMAL + 8);
  const bz = load<f64>(b, NORMAL + 16);
  const dot = ax * bx + ay * by + az * bz;
  if (min(1.0, abs(dot)) < leastCosine) return true;
  // The sense of a normal means nothing: the second is turned to agree with the first.
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
  // Off the middle, a shift would push part of the surface out of the voxel and the distance would come out too small.
  const fromCentre = (x - side) * nx + (y - side) * ny + (z - side) * nz;
  if (abs(fromCentre) > side / 2) return true;
  // Both planes at the midpoint of the centroids, so that points spread unevenly over a tilted surface show no distance.
  const hx = (load<f64>(b, CENTROID) - load<f64>(a, CENTROID)) / 2;
  const hy = (load<f64>(b, CENTROID + 8) - load<f64>(a, CENTROID + 8)) / 2;
  const hz = (load<f64>(b, CENTROID + 16) - load<f64>(a, CENTROID + 16)) / 2;
  const alongA = hx * ax + hy * ay + hz * az;
  const alongB = flip * (hx * bx + hy * by + hz * bz);
  // Both unit normals make the same angle with their mean.
  const distance = (alongA + alongB) / sqrt((1 + abs(dot)) / 2);
  const record = recordOf(pair);
  if (record == 0) return false;
  placeIn(record, voxelA, x, y, z);
  store<f32>(record, <f32>nx, 20);
  store<f32>(record, <f32>ny, 24);
  store<f32>(record, <f32>nz, 28);
  store<f32>(record, <f32>distance, 32);
  return true;
}

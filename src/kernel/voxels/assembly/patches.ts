import { free, side } from './area';
import { beginRecords, groupAt, groupOf, nextPlace, recordAt, recordCount, recordOf, roomForColumns } from './groups';
import { at, copyCorner, placeIn, visitVoxels } from './visit';

let leastPoints: f64 = 0;
let leastSpread: f64 = 0;
let mostVariance: f64 = 0;
let mostSlope: f64 = 0;

/**
 * Nearly level patches of each pass, voxel by voxel: the plane of least squares of heights (see
 * src/geometry/level-plane.ts). Kind 0, pass. Columns: corner of the voxel (three i32), points (u32), mean squared distance
 * from the plane (f32), height of the plane over the middle of the voxel, from its corner (f32), mean place as for pairs.
 */
export function visitPatches(points: f64, variance: f64, spread: f64, slope: f64): usize {
  leastPoints = points;
  mostVariance = variance;
  leastSpread = spread;
  mostSlope = slope;
  beginRecords(free, 32);
  return visitVoxels(patchesOfVoxel) ? patchColumns() : 0;
}

function patchColumns(): usize {
  const n = <usize>recordCount();
  const corners = roomForColumns(30 * n + 16);
  if (corners == 0) return 0;
  const points = corners + 12 * n;
  const variances = points + 4 * n;
  const middles = variances + 4 * n;
  const offsets = middles + 4 * n;
  for (let i = 0; i < <i32>n; i++) {
    const record = recordAt(i);
    const k = nextPlace(groupAt(record));
    copyCorner(record, corners + 12 * k, offsets + 6 * k);
    store<u32>(points + 4 * k, load<u32>(record, 20));
    store<u32>(variances + 4 * k, load<u32>(record, 24));
    store<u32>(middles + 4 * k, load<u32>(record, 28));
  }
  return corners;
}

function patchesOfVoxel(from: i32, to: i32): bool {
  for (let i = from; i < to; i++) if (!patch(at(i))) return false;
  return true;
}

/** @returns false where there is not memory enough */
function patch(voxel: usize): bool {
  const n = load<f64>(voxel, 16);
  if (n < leastPoints) return true;
  const x = load<f64>(voxel, 24) / n;
  const y = load<f64>(voxel, 32) / n;
  const z = load<f64>(voxel, 40) / n;
  const xx = load<f64>(voxel, 48) / n - x * x;
  const xy = load<f64>(voxel, 56) / n - x * y;
  const xz = load<f64>(voxel, 64) / n - x * z;
  const yy = load<f64>(voxel, 72) / n - y * y;
  const yz = load<f64>(voxel, 80) / n - y * z;
  const zz = load<f64>(voxel, 88) / n - z * z;
  const determinant = xx * yy - xy * xy;
  if (!(determinant > 1e-6 * (xx + yy) * (xx + yy))) return true;
  const slopeX = (yy * xz - xy * yz) / determinant;
  const slopeY = (xx * yz - xy * xz) / determinant;
  const slopes = slopeX * slopeX + slopeY * slopeY;
  const squares = max<f64>(0, zz - slopeX * xz - slopeY * yz);
  const variance = ((squares / (1 + slopes)) * n) / (n - 3);
  const spread = (xx + yy - sqrt((xx - yy) * (xx - yy) + 4 * xy * xy)) / 2;
  if (spread < leastSpread || variance > mostVariance || sqrt(slopes) > mostSlope) return true;
  const middle = z + slopeX * (side - x) + slopeY * (side - y);
  // A surface near a face of the voxel is cut off there and looks thinner than it is; the other lattice has it whole.
  if (abs(middle - side) > side / 2) return true;
  const group = groupOf(0, load<i32>(voxel, 12), 0);
  if (group == 0) return false;
  const record = recordOf(group);
  if (record == 0) return false;
  placeIn(record, voxel, x, y, z);
  store<u32>(record, <u32>n, 20);
  store<f32>(record, <f32>variance, 24);
  store<f32>(record, <f32>middle, 28);
  return true;
}

import { free, side } from './block';
import { beginRecords, groupAt, groupOf, nextIndex, recordAt, recordCount, recordOf, roomForColumns } from './groups';
import { at, copyCorner, storePosition, visitVoxels } from './visit';

let minPoints: f64 = 0;
let minSpread: f64 = 0;
let maxVariance: f64 = 0;
let maxSlope: f64 = 0;

/**
 * Nearly level patches of each pass, voxel by voxel: least squares planes of heights (see src/geometry/level-plane.ts).
 * Kind 0, one pass. Columns: corner of the voxel (three i32), number of points (u32), variance about the plane (f32,
 * square quanta), height of the plane at the centre of the voxel, from its corner (f32, quanta), mean position as for pairs.
 * @param points fewest points of a patch
 * @param variance largest variance about the plane, square quanta
 * @param spread smallest variance of the horizontal coordinates in any direction, square quanta
 * @param slope largest slope, rise over run
 * @returns address of the columns; 0 where memory is short
 */
export function visitPatches(points: f64, variance: f64, spread: f64, slope: f64): usize {
  minPoints = points;
  maxVariance = variance;
  minSpread = spread;
  maxSlope = slope;
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
    const k = nextIndex(groupAt(record));
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

/** @returns false where memory is short */
function patch(voxel: usize): bool {
  const n = load<f64>(voxel, 16);
  if (n < minPoints) return true;
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
  if (spread < minSpread || variance > maxVariance || sqrt(slopes) > maxSlope) return true;
  const middle = z + slopeX * (side - x) + slopeY * (side - y);
  // A surface near a face of the voxel is cut off there, so its variance is too small; the other lattice holds it whole.
  if (abs(middle - side) > side / 2) return true;
  const group = groupOf(0, load<i32>(voxel, 12), 0);
  if (group == 0) return false;
  const record = recordOf(group);
  if (record == 0) return false;
  storePosition(record, voxel, x, y, z);
  store<u32>(record, <u32>n, 20);
  store<f32>(record, <f32>variance, 24);
  store<f32>(record, <f32>middle, 28);
  return true;
}

import { areaColumn, areaRow, besides, free, gather, list, side } from './area';
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
import { CUBE_HEADS, CUBES_WIDE, VOXEL_HEADS, VOXEL_HEADS_EACH, VOXELS_WIDE } from './memory';
import { sort } from './order';
import { CENTROID, fitPlane, NORMAL, PLANE, RMS, VALUES } from './plane';

// Every visit answers where its columns are: an address, or 0 where there is not memory enough.

// @ts-ignore: decorator
@inline
function at(i: i32): usize {
  return load<u32>(list + (<usize>i << 2));
}

/** Bytes of a pass of a square: pass (i32), nothing, lowest mean height of its cubes (f64). */
const SEEN: usize = 16;

/**
 * What each pass shows of its outline. Kind 0, a and b: how much higher the lowest cube of b is than that of a, a square of
 * the plan one voxel wide (f32). Kind 1, pass: column and row of the cubes where it holds points in `levels` of them above
 * one another (two i32), also where there are none. Columns: all of kind 1, then all of kind 0.
 */
export function visitOutline(levels: i32): usize {
  beginRecords(free, 8);
  for (let y = 0; y < VOXELS_WIDE; y++) {
    for (let x = 0; x < VOXELS_WIDE; x++) {
      let n = 0;
      for (let k = 0; k < 4; k++) {
        const square = (2 * y + (k >> 1)) * CUBES_WIDE + 2 * x + (k & 1);
        n = gather(CUBE_HEADS + (<usize>square << 2), n);
      }
      if (n == 0) continue;
      sort(list, n, false);
      if (!outlineSquare(n, levels)) return 0;
    }
  }
  return outlineColumns();
}

function outlineSquare(n: i32, levels: i32): bool {
  let seen: usize = 0;
  let i = 0;
  while (i < n) {
    const pass = load<i32>(at(i), 12);
    const group = groupOf(1, pass, 0);
    if (group == 0) return false;
    let lowest = Infinity;
    while (i < n && load<i32>(at(i), 12) == pass) {
      const first = at(i);
      const from = i;
      while (i < n && isOver(at(i), first)) {
        const cube = at(i);
        lowest = min(lowest, <f64>load<i32>(cube, 8) * side + load<f64>(cube, 40) / load<f64>(cube, 16));
        i++;
      }
      if (i - from < levels) continue;
      const record = recordOf(group);
      if (record == 0) return false;
      store<u64>(record, load<u64>(first));
    }
    for (let k: usize = 0; k < seen; k++) {
      const other = besides + k * SEEN;
      const record = recordOfPair(load<i32>(other), pass);
      if (record == 0) return false;
      store<f32>(record, <f32>(lowest - load<f64>(other, 8)));
    }
    store<i32>(besides + seen * SEEN, pass);
    store<f64>(besides + seen * SEEN, lowest, 8);
    seen++;
  }
  return true;
}

function recordOfPair(a: i32, b: i32): usize {
  const group = groupOf(0, a, b);
  return group == 0 ? 0 : recordOf(group);
}

function outlineColumns(): usize {
  const n = recordCount();
  const places = roomForColumns(12 * <usize>n + 16);
  if (places == 0) return 0;
  let upright: usize = 0;
  for (let i = 0; i < n; i++) if (load<i32>(groupAt(recordAt(i))) == 1) upright++;
  const heights = places + 8 * upright;
  for (let i = 0; i < n; i++) {
    const record = recordAt(i);
    const group = groupAt(record);
    const k = nextPlace(group);
    if (load<i32>(group) == 1) store<u64>(places + 8 * k, load<u64>(record));
    else store<f32>(heights + 4 * k, load<f32>(record));
  }
  return places;
}

function isOver(a: usize, b: usize): bool {
  return load<i32>(a) == load<i32>(b) && load<i32>(a, 4) == load<i32>(b, 4) && load<i32>(a, 12) == load<i32>(b, 12);
}

/** Goes through the voxels of both lattices, row by row, over each square by level and pass. */
function visitVoxels(visit: (from: i32, to: i32) => bool): bool {
  for (let lattice = 0; lattice < 2; lattice++) {
    const heads = VOXEL_HEADS + <usize>lattice * VOXEL_HEADS_EACH;
    for (let square = 0; square < VOXELS_WIDE * VOXELS_WIDE; square++) {
      const n = gather(heads + (<usize>square << 2), 0);
      if (n == 0) continue;
      sort(list, n, true);
      for (let from = 0; from < n; ) {
        let to = from + 1;
        while (to < n && load<i32>(at(to), 8) == load<i32>(at(from), 8)) to++;
        if (!visit(from, to)) return false;
        from = to;
      }
    }
  }
  return true;
}

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

function copyCorner(record: usize, corner: usize, offset: usize): void {
  store<u64>(corner, load<u64>(record));
  store<u32>(corner, load<u32>(record, 8), 8);
  store<u32>(offset, load<u32>(record, 12));
  store<u16>(offset, load<u16>(record, 16), 4);
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

/** Corner of the voxel, and the place in it to the nearest quantum. */
function placeIn(record: usize, voxel: usize, x: f64, y: f64, z: f64): void {
  store<u64>(record, load<u64>(voxel));
  store<i32>(record, load<i32>(voxel, 8), 8);
  store<u16>(record, <u16>Math.round(x), 12);
  store<u16>(record, <u16>Math.round(y), 14);
  store<u16>(record, <u16>Math.round(z), 16);
}

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

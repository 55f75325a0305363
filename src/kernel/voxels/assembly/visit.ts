import { areaColumn, areaRow, gather, list, listed, side } from './area';
import { aligned, CUBE_HEADS, CUBES_WIDE, MOST_OUT, OUT, OUTPUT, reserve, VOXEL_HEADS, VOXEL_HEADS_EACH, VOXELS_WIDE } from './memory';
import { sort } from './order';
import { CENTROID, fitPlane, NORMAL, PLANE, RMS, VALUES } from './plane';

/** Given by the caller: takes the records that stand at OUTPUT. */
// @ts-ignore: decorator
@external('env', 'take')
declare function take(count: i32): void;

let out: i32 = 0;

/** Where the next record goes. */
function next(): usize {
  if (out == MOST_OUT) flush();
  out++;
  return OUTPUT + <usize>(out - 1) * OUT;
}

function flush(): void {
  if (out > 0) take(out);
  out = 0;
}

// @ts-ignore: decorator
@inline
function at(i: i32): usize {
  return load<u32>(list + (<usize>i << 2));
}

/**
 * What each pass shows of its outline, by squares of the plan one voxel wide. Records: 0, pass, column, row (of the voxel),
 * lowest mean height of a cube (f64); and, where a pass holds points in `levels` cubes above one another: 1, pass, column,
 * row of these cubes.
 */
export function visitOutline(levels: i32): bool {
  out = 0;
  for (let y = 0; y < VOXELS_WIDE; y++) {
    for (let x = 0; x < VOXELS_WIDE; x++) {
      let count = 0;
      for (let k = 0; k < 4 && count >= 0; k++) {
        const square = (2 * y + (k >> 1)) * CUBES_WIDE + 2 * x + (k & 1);
        count = gather(CUBE_HEADS + (<usize>square << 2), count);
      }
      if (count < 0) return false;
      if (count == 0) continue;
      sort(list, count, false);
      outlineSquare(count, levels, areaColumn * VOXELS_WIDE + x, areaRow * VOXELS_WIDE + y);
    }
  }
  flush();
  return true;
}

function outlineSquare(count: i32, levels: i32, column: i32, row: i32): void {
  let i = 0;
  while (i < count) {
    const pass = load<i32>(at(i), 12);
    let lowest = Infinity;
    while (i < count && load<i32>(at(i), 12) == pass) {
      const first = at(i);
      const from = i;
      while (i < count && isOver(at(i), first)) {
        const cube = at(i);
        lowest = min(lowest, <f64>load<i32>(cube, 8) * side + load<f64>(cube, 40) / load<f64>(cube, 16));
        i++;
      }
      if (i - from >= levels) place(1, pass, load<i32>(first), load<i32>(first, 4), 0);
    }
    place(0, pass, column, row, lowest);
  }
}

function isOver(a: usize, b: usize): bool {
  return load<i32>(a) == load<i32>(b) && load<i32>(a, 4) == load<i32>(b, 4) && load<i32>(a, 12) == load<i32>(b, 12);
}

function place(kind: i32, pass: i32, column: i32, row: i32, height: f64): void {
  const record = next();
  store<i32>(record, kind);
  store<i32>(record, pass, 4);
  store<i32>(record, column, 8);
  store<i32>(record, row, 12);
  store<f64>(record, height, 16);
}

/** Goes through the voxels of both lattices, row by row, over each square by level and pass. */
function visitVoxels(visit: (from: i32, to: i32) => bool): bool {
  out = 0;
  for (let lattice = 0; lattice < 2; lattice++) {
    const heads = VOXEL_HEADS + <usize>lattice * VOXEL_HEADS_EACH;
    for (let square = 0; square < VOXELS_WIDE * VOXELS_WIDE; square++) {
      const count = gather(heads + (<usize>square << 2), 0);
      if (count < 0) return false;
      if (count == 0) continue;
      sort(list, count, true);
      for (let from = 0; from < count; ) {
        let to = from + 1;
        while (to < count && load<i32>(at(to), 8) == load<i32>(at(from), 8)) to++;
        if (!visit(from, to)) return false;
        from = to;
      }
    }
  }
  flush();
  return true;
}

// What makes a plane of a voxel, and two of them the same surface.
let leastPoints: f64 = 0;
let mostRms: f64 = 0;
let leastSpread: f64 = 0;
let leastCosine: f64 = 0;

/**
 * Every two passes in every voxel. Records: a, b, 0 where both have points, 1 with points enough for a plane each, 2 with
 * the same plane in both; then only: corner (three i32), mean place of both from the corner (three u16, rounded), mean
 * normal (three f32), distance of b from a along it (f32).
 */
export function visitPairs(points: f64, rms: f64, spread: f64, cosine: f64): bool {
  leastPoints = points;
  mostRms = rms;
  leastSpread = spread;
  leastCosine = cosine;
  return visitVoxels(pairsOfVoxel);
}

function pairsOfVoxel(from: i32, to: i32): bool {
  if (to - from < 2) return true;
  const planes = aligned(list + (<usize>listed << 2));
  if (!reserve(planes + <usize>(to - from) * PLANE)) return false;
  for (let i = from; i < to; i++) fit(at(i), planes + <usize>(i - from) * PLANE);
  for (let i = from; i < to; i++) {
    for (let j = i + 1; j < to; j++) {
      compare(at(i), at(j), planes + <usize>(i - from) * PLANE, planes + <usize>(j - from) * PLANE);
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

function compare(voxelA: usize, voxelB: usize, a: usize, b: usize): void {
  const record = next();
  store<i32>(record, load<i32>(voxelA, 12));
  store<i32>(record, load<i32>(voxelB, 12), 4);
  store<i32>(record, 0, 8);
  if (load<f64>(voxelA, 16) < leastPoints || load<f64>(voxelB, 16) < leastPoints) return;
  store<i32>(record, 1, 8);
  if (load<f64>(a) == 0 || load<f64>(b) == 0) return;
  const ax = load<f64>(a, NORMAL);
  const ay = load<f64>(a, NORMAL + 8);
  const az = load<f64>(a, NORMAL + 16);
  const bx = load<f64>(b, NORMAL);
  const by = load<f64>(b, NORMAL + 8);
  const bz = load<f64>(b, NORMAL + 16);
  const dot = ax * bx + ay * by + az * bz;
  if (min(1.0, abs(dot)) < leastCosine) return;
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
  if (abs(fromCentre) > side / 2) return;
  // Both planes at the midpoint of the centroids, so that points spread unevenly over a tilted surface show no distance.
  const hx = (load<f64>(b, CENTROID) - load<f64>(a, CENTROID)) / 2;
  const hy = (load<f64>(b, CENTROID + 8) - load<f64>(a, CENTROID + 8)) / 2;
  const hz = (load<f64>(b, CENTROID + 16) - load<f64>(a, CENTROID + 16)) / 2;
  const alongA = hx * ax + hy * ay + hz * az;
  const alongB = flip * (hx * bx + hy * by + hz * bz);
  // Both unit normals make the same angle with their mean.
  const distance = (alongA + alongB) / sqrt((1 + abs(dot)) / 2);
  store<i32>(record, 2, 8);
  placeIn(record, voxelA, x, y, z);
  store<f32>(record, <f32>nx, 32);
  store<f32>(record, <f32>ny, 36);
  store<f32>(record, <f32>nz, 40);
  store<f32>(record, <f32>distance, 44);
}

/** Corner of the voxel, and the place in it to the nearest quantum. */
function placeIn(record: usize, voxel: usize, x: f64, y: f64, z: f64): void {
  store<i32>(record, load<i32>(voxel), 12);
  store<i32>(record, load<i32>(voxel, 4), 16);
  store<i32>(record, load<i32>(voxel, 8), 20);
  store<u16>(record, <u16>Math.round(x), 24);
  store<u16>(record, <u16>Math.round(y), 26);
  store<u16>(record, <u16>Math.round(z), 28);
}

let mostVariance: f64 = 0;
let mostSlope: f64 = 0;

/**
 * Nearly level patches of each pass, voxel by voxel: the plane of least squares of heights (see
 * src/geometry/level-plane.ts). Records: pass, points (u32), nothing, corner and mean place as for pairs, mean squared
 * distance from the plane (f32), height of the plane over the middle of the voxel, from its corner (f32).
 */
export function visitPatches(points: f64, variance: f64, spread: f64, slope: f64): bool {
  leastPoints = points;
  mostVariance = variance;
  leastSpread = spread;
  mostSlope = slope;
  return visitVoxels(patchesOfVoxel);
}

function patchesOfVoxel(from: i32, to: i32): bool {
  for (let i = from; i < to; i++) patch(at(i));
  return true;
}

function patch(voxel: usize): void {
  const n = load<f64>(voxel, 16);
  if (n < leastPoints) return;
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
  if (!(determinant > 1e-6 * (xx + yy) * (xx + yy))) return;
  const slopeX = (yy * xz - xy * yz) / determinant;
  const slopeY = (xx * yz - xy * xz) / determinant;
  const slopes = slopeX * slopeX + slopeY * slopeY;
  const squares = max<f64>(0, zz - slopeX * xz - slopeY * yz);
  const variance = ((squares / (1 + slopes)) * n) / (n - 3);
  const spread = (xx + yy - sqrt((xx - yy) * (xx - yy) + 4 * xy * xy)) / 2;
  if (spread < leastSpread || variance > mostVariance || sqrt(slopes) > mostSlope) return;
  const middle = z + slopeX * (side - x) + slopeY * (side - y);
  // A surface near a face of the voxel is cut off there and looks thinner than it is; the other lattice has it whole.
  if (abs(middle - side) > side / 2) return;
  const record = next();
  store<i32>(record, load<i32>(voxel, 12));
  store<u32>(record, <u32>n, 4);
  placeIn(record, voxel, x, y, z);
  store<f32>(record, <f32>variance, 32);
  store<f32>(record, <f32>middle, 36);
}

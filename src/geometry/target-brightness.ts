import { solveSymmetric } from './least-squares.js';
import { hasPlate, middleOf, type TargetKind } from './target-shapes.js';

/** A target to find among points, with working arrays. Lengths in metres. */
export interface TargetTask {
  kind: TargetKind;
  size: number;
  /** Points within this distance of the target belong to its fit. */
  radius: number;
  x: Float64Array;
  y: Float64Array;
  value: Float64Array;
  n: number;
  sharpest: number;
  work: TargetWork;
}

/** Arrays reused by every evaluation. */
export interface TargetWork {
  x: Float64Array;
  y: Float64Array;
  value: Float64Array;
  bright: Float64Array;
  plate: Float64Array;
  residual: Float64Array;
  trial: Float64Array;
  slopes: Float64Array[];
}

/** Working arrays for n points. */
export function createWork(n: number): TargetWork {
  const make = () => new Float64Array(n);
  return {
    x: make(),
    y: make(),
    value: make(),
    bright: make(),
    plate: make(),
    residual: make(),
    trial: make(),
    slopes: [make(), make(), make(), make(), make()],
  };
}

/** Copies those of the first `most` points that are within the radius of a position to the working arrays. @returns how many */
export function gather({ x, y, value, radius, work }: TargetTask, cx: number, cy: number, most: number): number {
  let count = 0;
  const limit = radius * radius;
  for (let i = 0; i < most; i++) {
    const dx = x[i] - cx;
    const dy = y[i] - cy;
    if (dx * dx + dy * dy > limit) continue;
    work.x[count] = x[i];
    work.y[count] = y[i];
    work.value[count++] = value[i];
  }
  return count;
}

/** Offset from the reference point to the centre of the target, metres. */
export function toMiddle({ kind, size }: TargetTask, angle: number): [number, number] {
  const off = middleOf(kind) * size;
  return [off * (Math.cos(angle) - Math.sin(angle)), off * (Math.sin(angle) + Math.cos(angle))];
}

/** Levels of brightness of a target. */
export interface Levels {
  /** Squares about the mean, and those that remain about the model. */
  total: number;
  rest: number;
  ground: number;
  /** Bright target over what surrounds its bright parts. */
  contrast: number;
  bright: number;
}

const matrix = new Float64Array(9);
const right = new Float64Array(3);

/** Levels of brightness by least squares for the shading at hand; residuals are written where asked. */
export function solveLevels({ kind, work }: TargetTask, count: number, residual: Float64Array | null): Levels | null {
  const size = hasPlate(kind) ? 3 : 2;
  matrix.fill(0);
  right.fill(0);
  const { bright, plate, value } = work;
  let sum = 0;
  let squares = 0;
  let s1 = 0;
  let s2 = 0;
  let s11 = 0;
  let s12 = 0;
  let s22 = 0;
  let r1 = 0;
  let r2 = 0;
  const origin = value[0];
  for (let i = 0; i < count; i++) {
    const v = value[i] - origin;
    const b = bright[i];
    sum += v;
    squares += v * v;
    s1 += b;
    s11 += b * b;
    r1 += b * v;
    if (size === 3) {
      const p = plate[i];
      s2 += p;
      s12 += b * p;
      s22 += p * p;
      r2 += p * v;
    }
  }
  const total = squares - (sum * sum) / count;
  if (!(total > 0) || !(s1 > 0)) return null;
  matrix[0] = count;
  matrix[size] = s1;
  matrix[size + 1] = s11;
  right[0] = sum;
  right[1] = r1;
  if (size === 3) {
    matrix[6] = s2;
    matrix[7] = s12;
    matrix[8] = s22;
    right[2] = r2;
  }
  if (!solveSymmetric(matrix, right, size)) return null;
  const ground = right[0] + origin;
  const contrast = right[1];
  const plateLevel = size === 3 ? right[2] : 0;
  let rest = 0;
  for (let i = 0; i < count; i++) {
    const r = value[i] - ground - contrast * bright[i] - plateLevel * (size === 3 ? plate[i] : 0);
    rest += r * r;
    if (residual) residual[i] = r;
  }
  return { total, rest, ground, contrast, bright: ground + plateLevel + contrast };
}

/**
 * Share explained; nothing where the target is darker than what surrounds it, or where the plate of a checker is nearer in
 * brightness to its bright quadrants than to the ground: that is another bright thing, not a checker.
 */
export function explained(levels: Levels | null): number {
  if (levels === null || !(levels.contrast > 0)) return 0;
  const plate = levels.bright - levels.contrast - levels.ground;
  return plate < levels.contrast ? 1 - levels.rest / levels.total : 0;
}

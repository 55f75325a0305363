import { solveSymmetric } from './least-squares.js';
import { medianOfSorted } from './statistics.js';
import {
  explained,
  gather,
  type Levels,
  solveLevels,
  type TargetTask,
  type TargetWork,
  toMiddle,
} from './target-brightness.js';
import { hasPlate, SYMMETRY, shadeTarget, type TargetKind, type TargetPose } from './target-shapes.js';

/** A target after its refinement. */
export interface Refined {
  pose: TargetPose;
  levels: Levels;
  fit: number;
  count: number;
  onBright: number;
  /** Share of the scatter that points side by side differ by: noise, not shape. */
  noise: number;
  xStd: number;
  yStd: number;
}

const MOST_ROUNDS = 25;

/** Unexplained scatter must fall to this share before bars of another width than the usual one are believed. */
const OTHER_BAR = 0.85;

/** Which numbers of a pose are free for a kind. */
function freeNumbers(kind: TargetKind): (keyof TargetPose)[] {
  const free: (keyof TargetPose)[] = ['x', 'y', 'edge'];
  if (SYMMETRY[kind] > 0) free.push('angle');
  return free;
}

/** Length of edge across a direction, both sides together, metres. */
function edgeOf(kind: TargetKind, size: number): number {
  return kind === 'corner' ? size : 2 * size;
}

/** Whether the target is made of bars, whose width is adjusted too. */
export function hasBars(kind: TargetKind): boolean {
  return kind === 'cross' || kind === 'corner';
}

/**
 * Refines one start: with bars of the usual width, and, where bars of another width explain the brightness clearly better,
 * with those.
 */
export function refine(task: TargetTask, start: TargetPose): Refined | null {
  const free = freeNumbers(task.kind);
  const usual = settle(task, start, free);
  if (usual === null || !hasBars(task.kind)) return usual;
  const other = settle(task, usual.pose, [...free, 'bar']);
  return other !== null && 1 - other.fit < OTHER_BAR * (1 - usual.fit) ? other : usual;
}

/** Descends from a start; the points of the fit are chosen about the start, then about the result. */
function settle(task: TargetTask, start: TargetPose, free: readonly (keyof TargetPose)[]): Refined | null {
  let pose = start;
  let result: Refined | null = null;
  for (let choice = 0; choice < 3; choice++) {
    const [ox, oy] = toMiddle(task, pose.angle);
    const count = gather(task, pose.x + ox, pose.y + oy, task.n);
    if (count < 8) return null;
    result = descend(task, pose, count, free);
    if (result === null) return null;
    const moved = Math.hypot(result.pose.x - pose.x, result.pose.y - pose.y);
    pose = result.pose;
    if (moved < 0.0005) break;
  }
  return result;
}

/** Levenberg and Marquardt. */
function descend(
  task: TargetTask,
  start: TargetPose,
  count: number,
  free: readonly (keyof TargetPose)[],
): Refined | null {
  const { kind, size, work } = task;
  const k = free.length;
  const normal = new Float64Array(k * k);
  const damped = new Float64Array(k * k);
  const gradient = new Float64Array(k);
  const step = new Float64Array(k);
  let pose = limited({ ...start }, task);
  let levels = evaluate(task, pose, count, work.residual);
  if (levels === null) return null;
  let damping = 1e-2;
  for (let round = 0; round < MOST_ROUNDS; round++) {
    differentiate(task, pose, count, free);
    normalEquations(work, count, k, normal, gradient);
    let better = false;
    let size2 = 0;
    for (let attempt = 0; attempt < 8 && !better; attempt++) {
      damped.set(normal);
      for (let a = 0; a < k; a++) damped[a * k + a] += damping * normal[a * k + a] + 1e-12;
      step.set(gradient);
      if (!solveSymmetric(damped, step, k)) {
        damping *= 10;
        continue;
      }
      const next = { ...pose };
      for (let a = 0; a < k; a++) next[free[a]] -= step[a];
      limited(next, task);
      const trial = evaluate(task, next, count, work.trial);
      if (trial !== null && trial.rest < levels.rest) {
        size2 = Math.hypot(next.x - pose.x, next.y - pose.y);
        better = true;
        const gain = levels.rest - trial.rest;
        pose = next;
        levels = trial;
        work.residual.set(work.trial.subarray(0, count));
        damping = Math.max(1e-6, damping / 5);
        if (gain < 1e-5 * levels.total && size2 < 2e-5) round = MOST_ROUNDS;
      } else damping *= 4;
    }
    if (!better) break;
  }
  differentiate(task, pose, count, free);
  normalEquations(work, count, k, normal, gradient);
  const variance = levels.rest / Math.max(1, count - k - (hasPlate(kind) ? 3 : 2));
  shadeTarget(kind, size, pose, work.x, work.y, count, work.bright, work.plate);
  // However sharp the brightness, an edge of length L among points of density d is known to sqrt(1/2) / (d L) only.
  const grain = Math.SQRT1_2 / ((count / (Math.PI * task.radius ** 2)) * edgeOf(kind, size));
  let onBright = 0;
  for (let i = 0; i < count; i++) if (work.bright[i] > 0.5) onBright++;
  return {
    pose,
    levels,
    fit: explained(levels),
    count,
    onBright,
    noise: Math.min(1, (noiseVariance(work, count) * count) / levels.total),
    xStd: Math.hypot(deviation(normal, k, 0, variance), grain),
    yStd: Math.hypot(deviation(normal, k, 1, variance), grain),
  };
}

/** Median square of a standard normal variate: of chi-square with one degree of freedom. */
const MEDIAN_SQUARE = 0.4549;

/** Variance of the noise, from the differences of nearest neighbours; edges between them are too few to move a median. */
export function noiseVariance({ x, y, value }: TargetWork, count: number): number {
  const squares = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    let nearest = -1;
    let least = Number.POSITIVE_INFINITY;
    for (let j = 0; j < count; j++) {
      if (j === i) continue;
      const d = (x[i] - x[j]) ** 2 + (y[i] - y[j]) ** 2;
      if (d < least) {
        least = d;
        nearest = j;
      }
    }
    squares[i] = nearest < 0 ? 0 : (value[i] - value[nearest]) ** 2;
  }
  return medianOfSorted(squares.sort()) / (2 * MEDIAN_SQUARE);
}

/** Bars are this wide at least and at most, a share of the size: wider ones leave no corner between them that could be seen. */
export const BARS = [0.08, 0.5] as const;

/** Keeps edge and bar within what points and targets can be. */
function limited(pose: TargetPose, { size, sharpest }: TargetTask): TargetPose {
  pose.edge = Math.max(Math.min(pose.edge, size / 10), sharpest);
  pose.bar = Math.min(Math.max(pose.bar, BARS[0]), BARS[1]);
  return pose;
}

function evaluate(task: TargetTask, pose: TargetPose, count: number, residual: Float64Array): Levels | null {
  const { kind, size, work } = task;
  shadeTarget(kind, size, pose, work.x, work.y, count, work.bright, work.plate);
  return solveLevels(task, count, residual);
}

/** Central differences of the residuals, the levels solved anew each time. */
function differentiate(task: TargetTask, pose: TargetPose, count: number, free: readonly (keyof TargetPose)[]): void {
  const { work, size } = task;
  free.forEach((name, a) => {
    const h = name === 'angle' ? 0.005 : name === 'bar' ? 0.005 : size / 400;
    const slopes = work.slopes[a];
    slopes.fill(0, 0, count);
    for (const side of [1, -1]) {
      if (evaluate(task, { ...pose, [name]: pose[name] + side * h }, count, work.trial) === null) continue;
      for (let i = 0; i < count; i++) slopes[i] += (side * work.trial[i]) / (2 * h);
    }
  });
}

function normalEquations(
  work: TargetWork,
  count: number,
  k: number,
  normal: Float64Array,
  gradient: Float64Array,
): void {
  const { slopes, residual } = work;
  for (let a = 0; a < k; a++) {
    let g = 0;
    for (let i = 0; i < count; i++) g += slopes[a][i] * residual[i];
    gradient[a] = g;
    for (let b = 0; b <= a; b++) {
      let sum = 0;
      for (let i = 0; i < count; i++) sum += slopes[a][i] * slopes[b][i];
      normal[a * k + b] = sum;
      normal[b * k + a] = sum;
    }
  }
}

/** Standard deviation of one unknown: root of the variance times the diagonal entry of the inverse. */
function deviation(normal: Float64Array, k: number, which: number, variance: number): number {
  const copy = Float64Array.from(normal);
  const unit = new Float64Array(k);
  unit[which] = 1;
  for (let a = 0; a < k; a++) copy[a * k + a] += 1e-12;
  return solveSymmetric(copy, unit, k) ? Math.sqrt(Math.max(0, variance * unit[which])) : Number.POSITIVE_INFINITY;
}

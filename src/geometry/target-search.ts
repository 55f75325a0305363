import { percentileOfSorted } from './statistics.js';
import { explained, gather, solveLevels, type TargetTask, toMiddle } from './target-brightness.js';
import { brightArea, middleOf, SYMMETRY, shadeTarget, type TargetPose, USUAL_BAR } from './target-shapes.js';

/** Steps of the search: of its place, share of the size, and of the angle. */
const STEP_SHARE = 1 / 8;
const STEP_ANGLE = Math.PI / 6;
/** The best places of the grid are tried again at angles between. */
const SECOND_LOOK = 12;
const FINER = 3;
/** Positions that explain less than this share of the best one are not examined again. */
const FAR_BEHIND = 0.5;
/** Places the refinement starts from. */
const STARTS = 3;
/** Brightness midway between the ground and the brightest hundredth: places without such points are passed over. */
function brightFrom(value: Float64Array, most: number): number {
  const sorted = value.slice(0, most).sort();
  return (percentileOfSorted(sorted, 50) + percentileOfSorted(sorted, 99)) / 2;
}

function countAbove(value: Float64Array, count: number, threshold: number): number {
  let above = 0;
  for (let i = 0; i < count; i++) if (value[i] > threshold) above++;
  return above;
}

/** Minimum share of the expected number of bright points at a position that is examined. */
const LEAST_BRIGHT = 0.3;
/** Points around a place that are enough to find the target; all of them serve to fit it. */
const SEARCH_POINTS = 150;

/** Best places of the grid, the best first, each at its best angle; neighbours of a better one are left out. */
export function findStarts(task: TargetTask, search: number): TargetPose[] {
  const { kind, size, work, radius, n } = task;
  const step = size * STEP_SHARE;
  const off = middleOf(kind) * size * Math.SQRT2;
  const half = Math.ceil((search + off) / step) + 1;
  const most = Math.min(n, Math.ceil((SEARCH_POINTS * (search + radius) ** 2) / radius ** 2));
  const threshold = brightFrom(task.value, most);
  const expected = (brightArea(kind) * size * size) / (Math.PI * radius * radius);
  const found: Start[] = [];
  for (let row = -half; row <= half; row++) {
    for (let column = -half; column <= half; column++) {
      const x = column * step;
      const y = row * step;
      if (x * x + y * y > (search + off + step) ** 2) continue;
      const count = gather(task, x, y, most);
      if (count < 8 || countAbove(work.value, count, threshold) < LEAST_BRIGHT * expected * count) continue;
      found.push(bestTurn(task, x, y, count, 0, SYMMETRY[kind], STEP_ANGLE));
    }
  }
  sortStarts(found);
  for (let k = 0; k < Math.min(SECOND_LOOK, found.length) && SYMMETRY[kind] > 0; k++) {
    const { x, y, pose } = found[k];
    const count = gather(task, x, y, most);
    const halfTurn = STEP_ANGLE / 2 + STEP_ANGLE / FINER / 2;
    found[k] = bestTurn(task, x, y, count, pose.angle - halfTurn, pose.angle + halfTurn, STEP_ANGLE / FINER);
  }
  sortStarts(found);
  const starts: TargetPose[] = [];
  for (const { pose, fit } of found) {
    if (starts.length === STARTS || !(fit > FAR_BEHIND * found[0].fit)) break;
    if (starts.every((other) => Math.hypot(other.x - pose.x, other.y - pose.y) > size / 3)) starts.push(pose);
  }
  return starts;
}

interface Start {
  /** Middle of the target. */
  x: number;
  y: number;
  pose: TargetPose;
  fit: number;
}

function sortStarts(starts: Start[]): void {
  starts.sort((a, b) => b.fit - a.fit || a.y - b.y || a.x - b.x);
}

/** The best angle from `from` (inside) to `to` (outside) for a target with its middle at x, y; points are gathered. */
function bestTurn(
  task: TargetTask,
  x: number,
  y: number,
  count: number,
  from: number,
  to: number,
  turn: number,
): Start {
  const { kind, size, work } = task;
  const pose: TargetPose = { x, y, angle: from, edge: Math.max(size / 10, task.sharpest), bar: USUAL_BAR };
  let best: Start = { x, y, pose, fit: 0 };
  const turns = Math.max(1, Math.round((to - from) / turn));
  for (let k = 0; k < turns; k++) {
    const angle = from + k * turn;
    const [ox, oy] = toMiddle(task, angle);
    const at = { ...pose, x: x - ox, y: y - oy, angle };
    shadeTarget(kind, size, at, work.x, work.y, count, work.bright, work.plate);
    const fit = explained(solveLevels(task, count, null));
    if (fit > best.fit) best = { x, y, pose: at, fit };
  }
  return best;
}

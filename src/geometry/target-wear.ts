import { createWork, explained, gather, solveLevels, type TargetTask, toMiddle } from './target-brightness.js';
import { noiseVariance, type Refined, refine } from './target-refine.js';
import { hasPlate, shadeTarget, type TargetPose } from './target-shapes.js';

/** A target of which some of the paint is missing. */
export interface WornTarget {
  /** Share of the bright parts that is as dark as the ground, 0 to 1. */
  missing: number;
  /** Whether a whole part of it, an arm or a side, has lost most of its paint: what is left may look like another target. */
  partGone: boolean;
  /** Share of the brightness explained, and share that is noise, where the missing paint is left out. */
  fit: number;
  noise: number;
  bright: number;
  ground: number;
  xStd: number;
  yStd: number;
}

/** Sectors of the jackknife. */
const SECTORS = 12;
/** Parts of a target, octants around its middle; those with fewer of its bright points than this share are too small to count. */
const PARTS = 8;
const SMALL_PART = 0.08;
/** Fewest lit points of a part, share of its bright points. */
const LEAST_LIT = 0.3;
/** The lit paint of a target with up to 40 % missing has its middle brightness at this rank of all its bright parts, about. */
const LIT_RANK = 0.7;

/**
 * The target that remains where paint is missing: points on its bright parts that are nearer to the ground in brightness than to the paint are left out.
 * The standard deviations are those of the grouped jackknife over sectors around the target (Tukey 1958), because missing paint moves edges by
 * whole patches, which the scatter of single points does not show.
 * @returns null where the target has no lit paint or a sector cannot be left out
 */
export function wornTarget(task: TargetTask, found: Refined): WornTarget | null {
  const { kind, size, work } = task;
  const { pose } = found;
  const [ox, oy] = toMiddle(task, pose.angle);
  const count = gather(task, pose.x + ox, pose.y + oy, task.n);
  shadeTarget(kind, size, pose, work.x, work.y, count, work.bright, work.plate);
  const lit: number[] = [];
  const dark: number[] = [];
  for (let i = 0; i < count; i++) {
    if (work.bright[i] > 0.5) lit.push(work.value[i]);
    else if (!hasPlate(kind) || work.plate[i] < 0.5) dark.push(work.value[i]);
  }
  if (lit.length === 0 || dark.length === 0) return null;
  const bright = rank(lit, LIT_RANK);
  const ground = rank(dark, 0.5);
  const middle = (bright + ground) / 2;
  const noise = noiseVariance(work, count);
  const [ofPart, litOfPart] = [new Float64Array(PARTS), new Float64Array(PARTS)];
  let kept = 0;
  for (let i = 0; i < count; i++) {
    if (work.bright[i] > 0.5) {
      // Octants are centred on the axes and the diagonals.
      const part = sectorOf(work.x[i] - pose.x - ox, work.y[i] - pose.y - oy, pose.angle - Math.PI / PARTS, PARTS);
      ofPart[part]++;
      if (work.value[i] < middle) continue;
      litOfPart[part]++;
    }
    for (const column of [work.x, work.y, work.value, work.bright, work.plate]) column[kept] = column[i];
    kept++;
  }
  const levels = solveLevels(task, kept, null);
  if (levels === null) return null;
  const spread = sectorSpread(task, pose);
  if (spread === null) return null;
  return {
    missing: 1 - litOfPart.reduce((a, b) => a + b) / lit.length,
    partGone: ofPart.some((n, k) => n > SMALL_PART * lit.length && litOfPart[k] < LEAST_LIT * n),
    fit: explained(levels),
    noise: Math.min(1, (noise * kept) / levels.total),
    bright: levels.bright,
    ground: levels.ground,
    xStd: Math.hypot(found.xStd, spread[0]),
    yStd: Math.hypot(found.yStd, spread[1]),
  };
}

/** Standard deviations of the place by leaving out one sector around the target after the other; null where one has no solution. */
function sectorSpread(task: TargetTask, pose: TargetPose): [number, number] | null {
  const [ox, oy] = toMiddle(task, pose.angle);
  const [mx, my] = [pose.x + ox, pose.y + oy];
  const places: [number, number][] = [];
  for (let sector = 0; sector < SECTORS; sector++) {
    const rest = subTask(task, (i) => sectorOf(task.x[i] - mx, task.y[i] - my, pose.angle, SECTORS) !== sector);
    const again = refine(rest, pose);
    if (again === null) return null;
    places.push([again.pose.x, again.pose.y]);
  }
  const deviation = (axis: 0 | 1) => {
    const mean = places.reduce((sum, place) => sum + place[axis], 0) / SECTORS;
    const squares = places.reduce((sum, place) => sum + (place[axis] - mean) ** 2, 0);
    return Math.sqrt((squares * (SECTORS - 1)) / SECTORS);
  };
  return [deviation(0), deviation(1)];
}

/** The sector of a direction among `sectors` equal ones, the first from the angle `from` on. */
function sectorOf(dx: number, dy: number, from: number, sectors: number): number {
  const turn = (Math.atan2(dy, dx) - from) / (2 * Math.PI);
  return Math.min(sectors - 1, Math.floor((turn - Math.floor(turn)) * sectors));
}

function subTask(task: TargetTask, holds: (i: number) => boolean): TargetTask {
  const chosen: number[] = [];
  for (let i = 0; i < task.n; i++) if (holds(i)) chosen.push(i);
  const pick = (column: Float64Array) => Float64Array.from(chosen, (i) => column[i]);
  const n = chosen.length;
  return { ...task, x: pick(task.x), y: pick(task.y), value: pick(task.value), n, work: createWork(n) };
}

function rank(values: number[], share: number): number {
  values.sort((a, b) => a - b);
  return values[Math.min(values.length - 1, Math.floor(share * values.length))];
}

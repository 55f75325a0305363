import { createWork, type TargetTask } from './target-brightness.js';
import { BARS, hasBars, type Refined, refine } from './target-refine.js';
import { findStarts } from './target-search.js';
import { radiusOf, SYMMETRY, type TargetKind, type TargetPose } from './target-shapes.js';
import { wornTarget } from './target-wear.js';

/** Options of a target fit. */
export interface TargetOptions {
  /** Largest distance of the target from 0, 0, metres. Default 0.3. */
  search?: number;
  /** Minimum share of the brightness variance that the target model must explain. Default 0.6. */
  minFit?: number;
  /** Fewest points around the target, and on its bright parts. Default 30 and 8. */
  minPoints?: number;
  minBright?: number;
  /** Where the target is known to be already: no search. */
  start?: TargetPose;
}

/** A target as found. Metres. */
export interface TargetFit {
  pose: TargetPose;
  /** Standard deviations of its position, from the scatter of brightness about the model, metres. */
  xStd: number;
  yStd: number;
  /** Share of the brightness variance that the target model explains, 0 to 1. */
  fit: number;
  /** Brightness of target and ground, in the unit of the values. */
  bright: number;
  ground: number;
  /** Number of points used for the fit. */
  used: number;
  /** Share of its paint that is missing, 0 where it is not worn. */
  missing: number;
}

/** Why no target was found. */
export interface TargetRefusal {
  refused: string;
  /** The best fit there was, when there was one. */
  fit: number | null;
}

/** Room around the target that belongs to the fit, share of its radius. */
const MARGIN = 0.35;
/** Narrowest edge that points can resolve, as a share of their spacing. */
const SHARPEST = 0.2;
/** Share of the variance that is neither explained nor noise above which the object has another shape. */
const OTHER_SHAPE = 0.15;
/** Share of the variance that is neither explained nor noise from which on the standard deviations come from sectors of the target. */
const STRUCTURE = 0.06;
/** A target is worn where at least and at most these shares of its paint are missing; a target of another kind has lost more. */
const LEAST_MISSING = 0.08;
const MOST_MISSING = 0.4;
/** A second position that explains this share of the first one's makes the first one ambiguous. */
const RIVAL_SHARE = 0.85;

/**
 * Finds a target by the brightness of n points on a plane and fits its place and orientation by least squares of the
 * brightness: first over a grid of places and angles, then by Gauss-Newton steps with damping (Levenberg and Marquardt),
 * levels of brightness being solved for in each step. Edges run through between points, so that the place comes out more
 * finely than the spacing of the points.
 *
 * @param x, y places in plan from where the target is thought to be, metres; `value` their brightness, any unit
 * @returns the fit, or why it is refused
 */
export function fitTarget(
  kind: TargetKind,
  size: number,
  x: Float64Array,
  y: Float64Array,
  value: Float64Array,
  n: number,
  options: TargetOptions = {},
): TargetFit | TargetRefusal {
  const { search = 0.3, minFit = 0.6, minPoints = 30, minBright = 8 } = options;
  if (!(size > 0)) throw new RangeError(`the size of a target is positive, not ${size}`);
  const radius = radiusOf(kind, size) * (1 + MARGIN);
  const density = n / (Math.PI * (search + radius) ** 2);
  const spacing = 1 / Math.sqrt(Math.max(density, 1e-6));
  const work = createWork(n);
  const task: TargetTask = { kind, size, radius, x, y, value, n, sharpest: SHARPEST * spacing, work };
  const starts = options.start ? [options.start] : findStarts(task, search);
  if (starts.length === 0)
    return { refused: 'nothing bright enough for the target stands out near the surveyed place', fit: null };
  let best: Refined | null = null;
  const refined: Refined[] = [];
  for (const start of starts) {
    const one = refine(task, start);
    if (one === null) continue;
    refined.push(one);
    if (best === null || one.fit > best.fit) best = one;
  }
  if (best === null) return { refused: 'no target stands out', fit: null };
  return judge(best, refined, task, { search, minFit, minPoints, minBright, searched: !options.start });
}

function judge(
  best: Refined,
  refined: readonly Refined[],
  task: TargetTask,
  limits: { search: number; minFit: number; minPoints: number; minBright: number; searched: boolean },
): TargetFit | TargetRefusal {
  const { size, kind } = task;
  const { pose, levels, fit, count, onBright, noise, xStd, yStd } = best;
  const refuse = (refused: string): TargetRefusal => ({ refused, fit });
  if (count < limits.minPoints)
    return refuse(`only ${count} ${count === 1 ? 'point' : 'points'} around the target, ${limits.minPoints} needed`);
  if (onBright < limits.minBright)
    return refuse(
      `${onBright === 0 ? 'no point' : `only ${onBright} ${onBright === 1 ? 'point' : 'points'}`} on its bright parts, ${limits.minBright} needed`,
    );
  const unexplained = 1 - fit - noise;
  const worn = unexplained > STRUCTURE ? wornTarget(task, best) : null;
  const shaped =
    worn !== null &&
    worn.missing >= LEAST_MISSING &&
    worn.fit >= limits.minFit &&
    1 - worn.fit - worn.noise <= OTHER_SHAPE;
  const isWorn = shaped && worn.missing <= MOST_MISSING;
  const isSound = fit >= limits.minFit && unexplained <= OTHER_SHAPE;
  if (shaped && !isSound && !isWorn)
    return refuse(
      `something bright that would be a ${kind} with ${percent(worn.missing)} of its paint missing: too worn to be located, or another thing`,
    );
  if (isWorn && !isSound && worn.partGone)
    return refuse(
      `the target is worn: ${percent(worn.missing)} of its paint is missing, most of it in one part, so that its place is not certain`,
    );
  if (!isWorn && !(fit >= limits.minFit))
    return refuse(
      `nothing that looks like a ${kind}: it would explain ${percent(fit)} of the brightness, ${percent(limits.minFit)} needed`,
    );
  if (!isWorn && unexplained > OTHER_SHAPE)
    return refuse(
      `something bright, but not of the shape of a ${kind}: ${percent(unexplained)} of the brightness is neither explained nor noise`,
    );
  if (hasBars(kind) && pose.bar >= BARS[1])
    return refuse(`something bright, but its bars are wider than ${percent(BARS[1])} of the size of the ${kind}`);
  if (limits.searched && Math.hypot(pose.x, pose.y) > limits.search)
    return refuse(
      `the only likeness lies ${Math.hypot(pose.x, pose.y).toFixed(2)} m away, beyond the search of ${limits.search} m`,
    );
  const rival = refined.find(
    (other) => Math.hypot(other.pose.x - pose.x, other.pose.y - pose.y) > size / 3 && other.fit > RIVAL_SHARE * fit,
  );
  if (rival)
    return refuse(
      `two places look like the target, ${Math.hypot(rival.pose.x - pose.x, rival.pose.y - pose.y).toFixed(2)} m apart`,
    );
  const turn = SYMMETRY[kind];
  const angle = turn === 0 ? 0 : ((pose.angle % turn) + turn) % turn;
  return {
    pose: { ...pose, angle },
    // Where the model leaves structure unexplained, sectors of the target do not agree as well as single points suggest.
    xStd: worn?.xStd ?? xStd,
    yStd: worn?.yStd ?? yStd,
    fit: isWorn ? worn.fit : fit,
    bright: isWorn ? worn.bright : levels.bright,
    ground: isWorn ? worn.ground : levels.ground,
    used: count,
    missing: isWorn ? worn.missing : 0,
  };
}

function percent(share: number): string {
  return `${Math.round(share * 100)} %`;
}

import type { Motion, Pose } from './motion.js';

const TURN = 2 * Math.PI;

/** An arc, a straight line and an arc: metres, and curvature of the arcs in radians a metre. */
interface Path {
  first: number;
  firstCurvature: number;
  straight: number;
  last: number;
  lastCurvature: number;
}

/**
 * Drives from where the vehicle is to a pose, on the shortest way of an arc, a straight line and an arc of one radius, metres
 * (L. E. Dubins, On curves of minimal length with a constraint on average curvature, 1957; formulas derived here).
 */
export function driveTo(motion: Motion, to: Pose, radius: number): void {
  const ways = [1, -1].flatMap((a) => [1, -1].map((b) => pathOf(motion.end, to, a / radius, b / radius)));
  const [best] = ways.filter((way) => way !== null).sort((a, b) => lengthOf(a) - lengthOf(b));
  motion.drive(best.first, motion.end.speed, best.firstCurvature);
  motion.drive(best.straight);
  motion.drive(best.last, motion.end.speed, best.lastCurvature);
}

function lengthOf({ first, straight, last }: Path): number {
  return first + straight + last;
}

/** The way with these curvatures; null where the two circles are too near for it. */
function pathOf(from: Pose, to: Pose, a: number, b: number): Path | null {
  // Centres of the circles are left of the vehicle for left turns.
  const du = to.u - Math.sin(to.direction) / b - (from.u - Math.sin(from.direction) / a);
  const dv = to.v + Math.cos(to.direction) / b - (from.v + Math.cos(from.direction) / a);
  const apart = Math.hypot(du, dv);
  const offset = 1 / a - 1 / b;
  if (apart < Math.abs(offset)) return null;
  // The straight line is a common tangent: it leaves the line between the centres by what the radii differ.
  const straight = Math.sqrt(Math.max(0, apart * apart - offset * offset));
  const direction = Math.atan2(dv, du) + Math.atan2(offset, straight);
  return {
    first: turned(direction - from.direction, a) / Math.abs(a),
    firstCurvature: a,
    straight,
    last: turned(to.direction - direction, b) / Math.abs(b),
    lastCurvature: b,
  };
}

/** The turn that a curvature needs for an angle, radians, 0 to a full circle. */
function turned(angle: number, curvature: number): number {
  const positive = (((curvature > 0 ? angle : -angle) % TURN) + TURN) % TURN;
  return TURN - positive < 1e-9 ? 0 : positive;
}

import type { Motion, Pose } from './motion.js';

const TURN = 2 * Math.PI;

/** A piece of a way: metres, and curvature in radians a metre. */
interface Piece {
  metres: number;
  curvature: number;
}

/**
 * Drives from where the vehicle is to a pose, on the shortest way of arcs of one radius, metres, and at most one straight line
 * (L. E. Dubins, On curves of minimal length with a constraint on average curvature, 1957; formulas derived here).
 */
export function driveTo(motion: Motion, to: Pose, radius: number): void {
  const from = motion.end;
  const sides = [1 / radius, -1 / radius];
  const straight = sides.flatMap((a) => sides.map((b) => withLine(from, to, a, b)));
  const bent = sides.flatMap((a) => sides.map((side) => withThreeArcs(from, to, a, side > 0 ? 1 : -1)));
  const ways = [...straight, ...bent].filter((way) => way !== null);
  const [best] = ways.sort((a, b) => lengthOf(a) - lengthOf(b));
  for (const { metres, curvature } of best) motion.drive(metres, motion.end.speed, curvature);
}

function lengthOf(way: readonly Piece[]): number {
  return way.reduce((sum, { metres }) => sum + metres, 0);
}

/** Centre of the circle of a curvature through a pose: left of the vehicle for left turns. */
function centre({ u, v, direction }: Pose, curvature: number): [number, number] {
  return [u - Math.sin(direction) / curvature, v + Math.cos(direction) / curvature];
}

/** Arc, straight line, arc; null where the two circles are too near for it. */
function withLine(from: Pose, to: Pose, a: number, b: number): Piece[] | null {
  const [c1, c2] = [centre(from, a), centre(to, b)];
  const [du, dv] = [c2[0] - c1[0], c2[1] - c1[1]];
  const apart = Math.hypot(du, dv);
  const offset = 1 / a - 1 / b;
  if (apart < Math.abs(offset)) return null;
  // The straight line is a common tangent: it leaves the line between the centres by what the radii differ.
  const metres = Math.sqrt(Math.max(0, apart * apart - offset * offset));
  const direction = Math.atan2(dv, du) + Math.atan2(offset, metres);
  return [arc(direction - from.direction, a), { metres, curvature: 0 }, arc(to.direction - direction, b)];
}

/** Three arcs, the middle one to the other side; null where the outer circles are too far apart. */
function withThreeArcs(from: Pose, to: Pose, a: number, side: 1 | -1): Piece[] | null {
  const [c1, c3] = [centre(from, a), centre(to, a)];
  const [du, dv] = [c3[0] - c1[0], c3[1] - c1[1]];
  const apart = Math.hypot(du, dv);
  const reach = 2 / Math.abs(a);
  if (apart === 0 || apart > 2 * reach) return null;
  const off = (side * Math.sqrt(reach * reach - (apart * apart) / 4)) / apart;
  const c2 = [c1[0] + du / 2 - dv * off, c1[1] + dv / 2 + du * off];
  // Where two circles touch, the way is at right angles to the line between their centres.
  const touching = ([u, v]: readonly number[]) =>
    a > 0 ? Math.atan2(c2[0] - u, v - c2[1]) : Math.atan2(u - c2[0], c2[1] - v);
  const [first, second] = [touching(c1), touching(c3)];
  return [arc(first - from.direction, a), arc(second - first, -a), arc(to.direction - second, a)];
}

/** The arc that turns by an angle, radians, in the sense of its curvature. */
function arc(angle: number, curvature: number): Piece {
  const positive = (((curvature > 0 ? angle : -angle) % TURN) + TURN) % TURN;
  return { metres: (TURN - positive < 1e-9 ? 0 : positive) / Math.abs(curvature), curvature };
}

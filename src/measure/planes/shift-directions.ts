import type { Shift } from '../../geometry/least-squares.js';

/** What a direction is called: along or across the road, up, another horizontal direction, or an inclined one. */
type DirectionName = 'along' | 'across' | 'up' | 'horizontal' | 'inclined';

/** A direction in which surfaces show the shift. Metres. */
export interface SeenDirection {
  name: DirectionName;
  /** Unit vector. */
  direction: [number, number, number];
  /** Shift along it. */
  distance: number;
  std: number;
}

type Vector = [number, number, number];

/** A direction is horizontal up to this height of its unit vector, about 25 degrees, and up from the cosine of these on. */
const LEVEL = 0.42;
const STEEP = 0.9;
/** A horizontal direction is along or across the road within 22.5 degrees. */
const NEAR_ROAD = Math.cos(Math.PI / 8);

/**
 * The directions in which a solved shift is seen, perpendicular to one another: along the road, across it and up where all are seen; where
 * one is hidden, the horizontal one that is perpendicular to it, so that nothing hidden is part of it, and the one perpendicular to both.
 * @param road horizontal unit vector of the road; null where none stands out: x and y of the grid take its place
 * @param scale metres in one unit of the solution; `gross`: gross shift along x, y, z that was subtracted before, metres
 */
export function seenDirections(
  solution: Shift,
  road: readonly [number, number] | null,
  scale: number,
  gross: readonly number[],
): SeenDirection[] {
  return basisOf(solution, road ?? [1, 0]).map((direction) => ({
    name: nameOf(direction, road),
    direction,
    distance: dot(direction, solution.estimate) * scale + dot(direction, gross),
    std: Math.sqrt(Math.max(0, quadratic(solution.covariance, direction))) * scale,
  }));
}

function basisOf({ directions }: Shift, [east, north]: readonly [number, number]): Vector[] {
  const seen = directions.map(({ direction }) => direction);
  if (seen.length === 3) {
    return [
      [east, north, 0],
      [-north, east, 0],
      [0, 0, 1],
    ];
  }
  if (seen.length < 2) return seen;
  const hidden = cross(seen[0], seen[1]);
  const level = Math.hypot(hidden[0], hidden[1]);
  // Both horizontal directions are seen, the height is not.
  if (level < LEVEL) {
    const along = perpendicularTo(hidden, [east, north, 0]);
    return [along, cross(hidden, along)];
  }
  const horizontal: Vector = [-hidden[1] / level, hidden[0] / level, 0];
  return [horizontal, cross(hidden, horizontal)].map((d) => (d[2] < 0 ? negative(d) : d));
}

function nameOf(direction: Vector, road: readonly [number, number] | null): DirectionName {
  const up = Math.abs(direction[2]);
  if (up >= STEEP) return 'up';
  if (up > LEVEL) return 'inclined';
  if (road === null) return 'horizontal';
  const level = Math.hypot(direction[0], direction[1]);
  const cosine = Math.abs(direction[0] * road[0] + direction[1] * road[1]) / level;
  if (cosine >= NEAR_ROAD) return 'along';
  return Math.sqrt(1 - Math.min(1, cosine) ** 2) >= NEAR_ROAD ? 'across' : 'horizontal';
}

/** The part of a vector that is perpendicular to a unit vector, as a unit vector. */
function perpendicularTo(unit: Vector, vector: Vector): Vector {
  const part = dot(unit, vector);
  const rest = vector.map((v, k) => v - part * unit[k]);
  const length = Math.hypot(...rest);
  return rest.map((v) => v / length) as Vector;
}

function negative(vector: Vector): Vector {
  return vector.map((v) => 0 - v) as Vector;
}

function cross(a: Vector, b: Vector): Vector {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function dot(a: readonly number[], b: readonly number[]): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/** d^T C d for C given as xx, xy, xz, yy, yz, zz. */
function quadratic([xx, xy, xz, yy, yz, zz]: Shift['covariance'], [x, y, z]: Vector): number {
  return xx * x * x + yy * y * y + zz * z * z + 2 * (xy * x * y + xz * x * z + yz * y * z);
}

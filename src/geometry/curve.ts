/**
 * A piece of an alignment whose curvature changes evenly with its length: a straight line (both curvatures 0), a circular arc
 * (both the same) or a clothoid spiral.
 */
export interface Curve {
  /** Begin, metres. */
  x: number;
  y: number;
  /** Direction at the begin, radians, anticlockwise from the x axis. */
  heading: number;
  /** Curvature at begin and end, 1 / metre; positive where the curve turns left. */
  startCurvature: number;
  endCurvature: number;
  /** Length along the curve, metres. */
  length: number;
}

/** Vertices of a curve and the distance of each from its begin along the curve, metres. */
export interface CurveVertices {
  x: number[];
  y: number[];
  distance: number[];
}

/** Nodes and weights of Gauss-Legendre quadrature of order 5 on -1 to 1 (Abramowitz and Stegun 1964, table 25.4, n = 5). */
const ROOT = 2 * Math.sqrt(10 / 7);
const NODES = [-Math.sqrt(5 + ROOT) / 3, -Math.sqrt(5 - ROOT) / 3, 0, Math.sqrt(5 - ROOT) / 3, Math.sqrt(5 + ROOT) / 3];
const OUTER = (322 - 13 * Math.sqrt(70)) / 900;
const INNER = (322 + 13 * Math.sqrt(70)) / 900;
const WEIGHTS = [OUTER, INNER, 128 / 225, INNER, OUTER];

/** Direction of a curve at a distance from its begin, radians: the integral of the curvature. */
export function headingAt({ heading, startCurvature, endCurvature, length }: Curve, distance: number): number {
  const change = length === 0 ? 0 : (endCurvature - startCurvature) / length;
  return heading + startCurvature * distance + (change * distance * distance) / 2;
}

/**
 * Vertices on a curve, its begin and end among them, so near to one another that no chord is farther from the curve than
 * `tolerance` (metres). A chord of length c on a circle of radius r is c² / 8r from it. Positions are the integral of the direction,
 * by quadrature from vertex to vertex, which is exact to the last digits at such small turns.
 * @throws RangeError for a length or a tolerance that is not positive and finite
 */
export function curveVertices(curve: Curve, tolerance: number): CurveVertices {
  const { x, y, length, startCurvature, endCurvature } = curve;
  if (!(length > 0 && tolerance > 0 && Number.isFinite(length)))
    throw new RangeError('a curve needs a length and a tolerance');
  const sharpest = Math.max(Math.abs(startCurvature), Math.abs(endCurvature));
  const steps = Math.max(1, Math.ceil(length * Math.sqrt(sharpest / (8 * tolerance))));
  const vertices: CurveVertices = { x: [x], y: [y], distance: [0] };
  let east = 0;
  let north = 0;
  for (let i = 0; i < steps; i++) {
    const from = (length * i) / steps;
    const to = (length * (i + 1)) / steps;
    const half = (to - from) / 2;
    for (let k = 0; k < NODES.length; k++) {
      const direction = headingAt(curve, from + half * (1 + NODES[k]));
      east += WEIGHTS[k] * half * Math.cos(direction);
      north += WEIGHTS[k] * half * Math.sin(direction);
    }
    vertices.x.push(x + east);
    vertices.y.push(y + north);
    vertices.distance.push(to);
  }
  return vertices;
}

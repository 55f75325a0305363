import { sortPoints } from './local-points.js';

/** Two surfaces are separate when there is room to walk between them (metres; common practice: headroom of 2 m). */
const HEADROOM = 2;
/** Points are gathered in layers of this height (metres). */
const LAYER = 0.1;
/** A surface covers at least this share of the area that the widest one covers. */
const LEAST_SHARE = 0.25;
/** Squares per radius in which covered area is counted. */
const SQUARES = 5;
const SIDE = 2 * SQUARES + 1;

/**
 * Heights of the separate, roughly level surfaces in a small neighbourhood, from below: a carriageway and the ceiling of a
 * tunnel, the ground and a bridge above it. A surface is a layer 0.1 m thick that covers at least a quarter of the area that
 * the widest one covers, and is at least 2 m away from any wider one. The area is the number of squares of a grid with a point
 * of the layer in them, so that the density of points does not matter, and a wall has little area in any one layer.
 *
 * @param dx, dy, dz offsets from the centre, metres; the first n are read
 * @returns median height of each surface, in the origin of dz; empty without points
 */
export function separateSurfaces(dx: Float64Array, dy: Float64Array, dz: Float64Array, n: number): number[] {
  const { x, y, z } = sortPoints(dx, dy, dz, n);
  const square = squaresOf(x, y);
  const found: { height: number; area: number }[] = [];
  for (;;) {
    const next = widestLayer(z, square, found);
    if (next === null || (found.length > 0 && next.area < LEAST_SHARE * found[0].area)) break;
    found.push(next);
  }
  return found.map(({ height }) => height).sort((a, b) => a - b);
}

function squaresOf(x: Float64Array, y: Float64Array): Int32Array {
  let radius = 0;
  for (let i = 0; i < x.length; i++) radius = Math.max(radius, Math.abs(x[i]), Math.abs(y[i]));
  const scale = radius > 0 ? SQUARES / radius : 0;
  return Int32Array.from(x, (v, i) => (Math.round(y[i] * scale) + SQUARES) * SIDE + Math.round(v * scale) + SQUARES);
}

/** The layer that covers most, at least HEADROOM away from those known; among equals the lowest. Null when none is left. */
function widestLayer(z: Float64Array, square: Int32Array, known: readonly { height: number }[]) {
  let best: { height: number; area: number } | null = null;
  const points = new Int32Array(SIDE * SIDE);
  let area = 0;
  let end = 0;
  for (let begin = 0; begin < z.length; begin++) {
    for (; end < z.length && z[end] <= z[begin] + LAYER; end++) if (points[square[end]]++ === 0) area++;
    const height = z[(begin + end - 1) >> 1];
    const wider = best === null || area > best.area;
    if (wider && known.every((other) => Math.abs(other.height - height) >= HEADROOM)) best = { height, area };
    if (--points[square[begin]] === 0) area--;
  }
  return best;
}

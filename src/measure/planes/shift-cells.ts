import { solveShift } from '../../geometry/least-squares.js';
import { KeyTable } from '../cells/key-table.js';
import type { PairPlanes } from './pair-planes.js';
import { shiftInMetres } from './shift-in-metres.js';

/** The horizontal shift of one pass against another in one square of ground. Metres. */
export interface HorizontalShiftCell {
  /** Middle of the square, world. */
  x: number;
  y: number;
  /** Number of planes it is computed from. */
  planes: number;
  /** Length of the horizontal shift, as far as the surfaces show it. */
  offset: number;
  std: number;
  /** True where surfaces show the shift in both directions; else only one direction is known. */
  whole: boolean;
}

/** A direction counts as horizontal up to this height of its unit vector: about 25 degrees. */
const LEVEL = 0.42;
/** Planes that a square must hold: with fewer, noise decides. */
const LEAST_PLANES = 20;

/** Units and options of `horizontalShiftCells`: metres in one unit of the planes, the gross shift that was subtracted before, edge of a square in metres. */
export interface ShiftCellOptions {
  side: number;
  scale: number;
  gross: readonly number[];
  edge: number;
  outliers: { rejectFactor: number; rejectFloor: number };
}

/**
 * The horizontal shift of one pass against another in each square, by least squares as for the whole pair. A difference that
 * is confined to one stretch of road is visible in its own squares, and vanishes in the mean of a long road. Squares whose
 * surfaces show no horizontal shift (a bare road) are left out. Sorted by row, then column.
 */
export function horizontalShiftCells(planes: PairPlanes, options: ShiftCellOptions): HorizontalShiftCell[] {
  const { edge } = options;
  const squares = bySquare(planes, options);
  const found: HorizontalShiftCell[] = [];
  for (const square of squares.keys.sorted()) {
    const members = squares.members[square];
    if (members.length < LEAST_PLANES) continue;
    const seen = offsetOf(planes, members, options);
    if (seen === null) continue;
    const [row, column] = [squares.keys.part(square, 0), squares.keys.part(square, 1)];
    found.push({ x: (column + 0.5) * edge, y: (row + 0.5) * edge, planes: members.length, ...seen });
  }
  return found;
}

function bySquare({ corner, offset, count }: PairPlanes, { side, scale, edge }: ShiftCellOptions) {
  const keys = new KeyTable();
  const members: number[][] = [];
  for (let i = 0; i < count; i++) {
    const x = (corner[i * 3] * side + offset[i * 3]) * scale;
    const y = (corner[i * 3 + 1] * side + offset[i * 3 + 1]) * scale;
    const at = keys.add(Math.floor(y / edge), Math.floor(x / edge), 0, 0);
    if (at === members.length) members.push([]);
    members[at].push(i);
  }
  return { keys, members };
}

function offsetOf(
  { normal, distance, variance }: PairPlanes,
  members: readonly number[],
  { scale, gross, outliers }: ShiftCellOptions,
): Pick<HorizontalShiftCell, 'offset' | 'std' | 'whole'> | null {
  const normals = new Float32Array(members.length * 3);
  const distances = new Float32Array(members.length);
  const variances = new Float32Array(members.length);
  members.forEach((i, k) => {
    normals.set(normal.subarray(i * 3, i * 3 + 3), k * 3);
    distances[k] = distance[i];
    variances[k] = variance[i];
  });
  const seen = shiftInMetres(solveShift(normals, distances, members.length, { ...outliers, variances }), scale, gross);
  const [x, y] = seen.shift;
  if (x !== null && y !== null)
    return { offset: Math.hypot(x, y), std: Math.max(seen.std[0]!, seen.std[1]!), whole: true };
  const level = seen.directions.filter(({ direction }) => Math.abs(direction[2]) <= LEVEL);
  if (level.length === 0) return null;
  const along = (axis: number) => level.reduce((sum, d) => sum + d.distance * d.direction[axis], 0);
  return { offset: Math.hypot(along(0), along(1)), std: Math.max(...level.map(({ std }) => std)), whole: false };
}

import type { SceneColumns } from '../writer/point-columns.js';
import { selectPoints } from '../writer/point-columns.js';
import { Random } from './random.js';

/** A closed convex ring, corners counter-clockwise, world metres: x, y pairs without the repeated first corner. */
export type ConvexRing = readonly (readonly [number, number])[];

/** Axis-parallel rectangle: minimum easting and northing (inside), maximum (outside). */
export type Rectangle = readonly [number, number, number, number];

/** Whether a position is inside a rectangle; minimum edges are inside, maximum edges outside. */
export function insideRectangle(area: Rectangle, x: number, y: number): boolean {
  return x >= area[0] && y >= area[1] && x < area[2] && y < area[3];
}

/** Whether a point is inside or on the ring; positive `margin` asks for that much room to every edge. */
export function insideRing(ring: ConvexRing, x: number, y: number, margin = 0): boolean {
  for (let k = 0; k < ring.length; k++) {
    const [ax, ay] = ring[k];
    const [bx, by] = ring[(k + 1) % ring.length];
    const length = Math.hypot(bx - ax, by - ay);
    if (((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / length < margin) return false;
  }
  return true;
}

/** A hole in the data: every point inside the rectangle is taken out. */
export function cutVoid(points: SceneColumns, area: Rectangle): SceneColumns {
  return selectPoints(points, (i) => !insideRectangle(area, points.x[i], points.y[i]));
}

/**
 * Column or row of a world-anchored cell. Coordinates are first rounded to 0.1 mm, so that 561012.9999999 and 561013 fall
 * into the same cell whatever the floating point made of them.
 */
export function cellOf(coordinate: number, cell: number): number {
  return Math.floor(Math.round(coordinate * 10_000) / Math.round(cell * 10_000));
}

/** One number a cell; columns and rows are those of coordinates in metres, below 2^26. */
function cellKey(column: number, row: number): number {
  return column * 67_108_864 + row;
}

/** Points a cell. */
function countCells(points: SceneColumns, cell: number): Map<number, number> {
  const counts = new Map<number, number>();
  for (let i = 0; i < points.count; i++) {
    const key = cellKey(cellOf(points.x[i], cell), cellOf(points.y[i], cell));
    counts.set(key, (counts.get(key) ?? 0) + 1);
  }
  return counts;
}

/**
 * Thins an area to exactly `perCell` points in every cell of `cell` metres that has at least so many; cells with fewer
 * keep what they have. Which points stay is drawn from the seed; their order is kept.
 */
export function thinToDensity(
  points: SceneColumns,
  area: Rectangle,
  cell: number,
  perCell: number,
  seed: number,
): SceneColumns {
  const cells = new Map<number, number[]>();
  for (let i = 0; i < points.count; i++) {
    if (!insideRectangle(area, points.x[i], points.y[i])) continue;
    const key = cellKey(cellOf(points.x[i], cell), cellOf(points.y[i], cell));
    const list = cells.get(key);
    if (list) list.push(i);
    else cells.set(key, [i]);
  }
  const random = new Random(seed);
  const dropped = new Uint8Array(points.count);
  for (const list of cells.values()) {
    for (let left = list.length; left > perCell; left--) {
      const pick = random.below(left);
      dropped[list[pick]] = 1;
      list[pick] = list[left - 1];
    }
  }
  return selectPoints(points, (i) => dropped[i] === 0);
}

/** Cells that lie wholly inside the ring, and how many of them hold fewer points than `min`. */
export interface DensityTruth {
  cell: number;
  min: number;
  cells: number;
  below: number;
  empty: number;
  /** Cells at or above `min`, of all. */
  share: number;
  /** Points a square metre over all these cells. */
  mean: number;
}

/** Number of cells of edge `cell` (metres) wholly inside the ring, and of those with fewer than `min` points. */
export function densityTruth(points: SceneColumns, ring: ConvexRing, cell: number, min: number): DensityTruth {
  const counts = countCells(points, cell);
  const xs = ring.map(([x]) => x);
  const ys = ring.map(([, y]) => y);
  let cells = 0;
  let below = 0;
  let empty = 0;
  let total = 0;
  for (let column = cellOf(Math.min(...xs), cell); column <= cellOf(Math.max(...xs), cell); column++) {
    for (let row = cellOf(Math.min(...ys), cell); row <= cellOf(Math.max(...ys), cell); row++) {
      const corners = [0, 1].flatMap((a) => [0, 1].map((b) => [(column + a) * cell, (row + b) * cell]));
      if (!corners.every(([x, y]) => insideRing(ring, x, y))) continue;
      const count = counts.get(cellKey(column, row)) ?? 0;
      cells++;
      total += count;
      if (count < min * cell * cell) below++;
      if (count === 0) empty++;
    }
  }
  return { cell, min, cells, below, empty, share: (cells - below) / cells, mean: total / (cells * cell * cell) };
}

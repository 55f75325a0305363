import { percentile } from '../../geometry/statistics.js';
import { KeyTable } from '../../measure/cells/key-table.js';
import type { PassPair } from '../../measure/pass-pairs.js';
import type { PassSurface } from '../../measure/pass-surfaces.js';
import type { RangeCells } from '../../measure/range-cells.js';
import type { JudgeContext } from '../contract/check.js';
import { insideOf } from '../passes/surface-figures.js';

/** What is seen at one distance from the scanner, or at one angle. */
export interface RangeClass {
  /** Metres from the scanner, or degrees from the normal of the surface. */
  from: number;
  to: number;
  /** Cells of single passes whose mean distance is in the class, and their points. */
  cells: number;
  points: number;
  /** Smooth level patches, the sum of their weights, and that of weight times mean square, square metres. */
  patches: number;
  weight: number;
  squares: number;
  /** Heights of two passes that were compared, and the sum of the squared differences, square metres. */
  compared: number;
  dzSquares: number;
}

/** The ground of the delivery as all passes together see it, cell by cell. */
export interface SeenGround {
  column: Int32Array;
  row: Int32Array;
  /** Distance of the nearest point, metres. */
  nearest: Float64Array;
  /** Points of the passes whose mean distance in the cell is within the density distance. */
  near: Float64Array;
}

/** Mean distances by pass and cell, found by place. */
export class DistanceMap {
  readonly #cell: number;
  readonly #keys: KeyTable;
  readonly #mean: Float64Array;
  readonly #above: Float64Array;

  constructor(passes: readonly RangeCells[], cell: number) {
    const total = passes.reduce((sum, { column }) => sum + column.length, 0);
    this.#cell = cell;
    this.#keys = new KeyTable(total);
    this.#mean = new Float64Array(total);
    this.#above = new Float64Array(total);
    for (const { pass, column, row, mean, above } of passes) {
      for (let i = 0; i < column.length; i++) {
        const at = this.#keys.add(pass, column[i], row[i], 0);
        this.#mean[at] = mean[i];
        this.#above[at] = above[i];
      }
    }
  }

  /** Mean distance of a pass at a place (world metres); NaN where it has none. */
  distance(pass: number, x: number, y: number): number {
    const at = this.#find(pass, x, y);
    return at < 0 ? Number.NaN : this.#mean[at];
  }

  /** Angle between the beam and the vertical there, degrees: on level ground the angle of incidence. */
  incidence(pass: number, x: number, y: number): number {
    const at = this.#find(pass, x, y);
    if (at < 0) return Number.NaN;
    return (Math.acos(Math.min(1, Math.max(-1, this.#above[at] / this.#mean[at]))) * 180) / Math.PI;
  }

  #find(pass: number, x: number, y: number): number {
    return this.#keys.find(pass, Math.floor(x / this.#cell), Math.floor(y / this.#cell), 0);
  }
}

/** Cells in the zone, where one is named; others are left out. */
export function cellsInside(
  passes: readonly RangeCells[],
  cell: number,
  zone: string | undefined,
  context: JudgeContext,
): RangeCells[] {
  const inside = insideOf(zone, context);
  if (inside === null) return [...passes];
  return passes.map((of) => {
    const kept: number[] = [];
    for (let i = 0; i < of.column.length; i++)
      if (inside((of.column[i] + 0.5) * cell, (of.row[i] + 0.5) * cell)) kept.push(i);
    const pick = <T extends Int32Array | Uint32Array | Float64Array>(values: T): T =>
      (values.constructor as { from(list: number[]): unknown } & (new () => T)).from(kept.map((i) => values[i])) as T;
    return {
      pass: of.pass,
      column: pick(of.column),
      row: pick(of.row),
      points: pick(of.points),
      beyond: pick(of.beyond),
      unplaced: pick(of.unplaced),
      nearest: pick(of.nearest),
      mean: pick(of.mean),
      above: pick(of.above),
    };
  });
}

/** Classes of equal width, as many as are needed. */
export class Classes {
  readonly list: RangeClass[] = [];
  readonly #width: number;

  constructor(width: number) {
    this.#width = width;
  }

  /** The class of a value; null for no number. */
  at(value: number): RangeClass | null {
    if (!(value >= 0)) return null;
    const index = Math.min(Math.floor(value / this.#width), MOST_CLASSES - 1);
    while (this.list.length <= index) {
      const from = this.list.length * this.#width;
      const nothing = { cells: 0, points: 0, patches: 0, weight: 0, squares: 0, compared: 0, dzSquares: 0 };
      this.list.push({ from, to: from + this.#width, ...nothing });
    }
    return this.list[index];
  }
}

/** The last class takes the rest: a wrong time can put a point anywhere. */
const MOST_CLASSES = 200;

/** Adds the cells of passes to their classes of distance. */
export function addCells(classes: Classes, passes: readonly RangeCells[]): void {
  for (const { mean, points } of passes) {
    for (let i = 0; i < mean.length; i++) {
      const found = classes.at(mean[i]);
      if (found === null) continue;
      found.cells++;
      found.points += points[i];
    }
  }
}

/** Adds smooth level patches to the class that `classValue` gives: the weight of a patch is its points minus three. */
export function addPatches(
  classes: Classes,
  surfaces: readonly PassSurface[],
  zone: string | undefined,
  context: JudgeContext,
  classValue: (pass: number, x: number, y: number) => number,
): void {
  const inside = insideOf(zone, context);
  for (const { pass, x, y, points, variance } of surfaces) {
    for (let i = 0; i < x.length; i++) {
      const found = inside === null || inside(x[i], y[i]) ? classes.at(classValue(pass, x[i], y[i])) : null;
      if (found === null) continue;
      const weight = points[i] - 3;
      found.patches++;
      found.weight += weight;
      found.squares += weight * variance[i];
    }
  }
}

/** Adds height differences to the class of the larger of the two distances. */
export function addDifferences(classes: Classes, pairs: readonly PassPair[], distances: DistanceMap): void {
  for (const { a, b, map } of pairs) {
    for (let i = 0; i < map.dz.length; i++) {
      const far = Math.max(distances.distance(a, map.x[i], map.y[i]), distances.distance(b, map.x[i], map.y[i]));
      const found = classes.at(far);
      if (found === null) continue;
      found.compared++;
      found.dzSquares += map.dz[i] ** 2;
    }
  }
}

/** RMS of the points about their planes, and of the height differences, metres; null with fewer places than `least`. */
export function rmsOf({ patches, weight, squares }: RangeClass, least: number): number | null {
  return patches < least ? null : Math.sqrt(squares / weight);
}
export function rmsDzOf({ compared, dzSquares }: RangeClass, least: number): number | null {
  return compared < least ? null : Math.sqrt(dzSquares / compared);
}

/** All passes together, cell by cell; cells without a distance are left out. @param within distance for `near`, metres */
export function seenGround(passes: readonly RangeCells[], within: number): SeenGround {
  const keys = new KeyTable();
  const nearest: number[] = [];
  const near: number[] = [];
  for (const of of passes) {
    for (let i = 0; i < of.column.length; i++) {
      if (of.points[i] === 0) continue;
      const at = keys.add(of.column[i], of.row[i], 0, 0);
      if (at === nearest.length) {
        nearest.push(Number.POSITIVE_INFINITY);
        near.push(0);
      }
      nearest[at] = Math.min(nearest[at], of.nearest[i]);
      if (of.mean[i] <= within) near[at] += of.points[i];
    }
  }
  const order = keys.sorted();
  return {
    column: Int32Array.from(order, (i) => keys.part(i, 0)),
    row: Int32Array.from(order, (i) => keys.part(i, 1)),
    nearest: Float64Array.from(order, (i) => nearest[i]),
    near: Float64Array.from(order, (i) => near[i]),
  };
}

/** Density that 90 % of the cells with points from within the distance reach, points a square metre; null without such cells. */
export function densityReached({ near }: SeenGround, cell: number): number | null {
  const seen = near.filter((points) => points > 0);
  return seen.length === 0 ? null : percentile(seen, 10) / cell ** 2;
}

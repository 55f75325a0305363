import type { LIMIT_SENSES } from '../../report-shape/words.js';
import type { Unit } from './figure.js';

/**
 * Values with places that a requirement is judged by, for the sections of the route and the charts along it. Where there are several
 * sets, such as one for each pair of passes, a section is as good as its worst set.
 */
export interface PlacedValues {
  kind: 'placed-values';
  /** What the values serve; both where left out. */
  use?: 'sections' | 'charts';
  /** What the value of a section is, in words: `RMS of height differences`. */
  title: string;
  /** How the values of a section become one: the one farthest on the bad side of the limit, their root mean square, or their mean. */
  statistic: 'worst' | 'rms' | 'mean';
  unit: Unit;
  limit: number;
  sense: (typeof LIMIT_SENSES)[number];
  /** Distance up to which a value speaks for its surroundings, metres: the edge of a cell. 0 for survey points. */
  cell: number;
  sets: readonly PlacedSet[];
}

/** Values of one pass, pair of passes, or of all together. */
export interface PlacedSet {
  /** Name in charts. */
  name: string;
  places: SquareCells | { x: ArrayLike<number>; y: ArrayLike<number> };
  value: ArrayLike<number>;
}

/** Square cells: column and row are floor(world / cell). */
interface SquareCells {
  column: ArrayLike<number>;
  row: ArrayLike<number>;
}

/** World coordinates of the place of value i, metres. */
export function placeOf({ places }: PlacedSet, cell: number, i: number): { x: number; y: number } {
  return 'column' in places
    ? { x: (places.column[i] + 0.5) * cell, y: (places.row[i] + 0.5) * cell }
    : { x: places.x[i], y: places.y[i] };
}

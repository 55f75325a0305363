import { type PlacedValues, placeOf } from '../checks/contract/placed-values.js';
import type { Stations } from './stationing.js';

/** Places within a square of this edge have one place along the route, metres. */
const BLOCK = 2;

/** Values gathered by intervals of lines: one entry for each interval, of all lines one after the other. */
export interface IntervalValues {
  count: Float64Array;
  /** The figure of the interval; NaN without a value. */
  value: Float64Array;
  /** A bit for each tenth of the interval that has a value. */
  tenths: Uint16Array;
}

/** The borders of the intervals of every line: distances from its begin, ascending, from 0 to its length. */
export type Borders = readonly (readonly number[])[];

/** Looks up places along the route, and remembers them by squares of ground: the cells of a grid ask for the same squares. */
export class PlaceTable {
  private readonly known = new Map<number, { line: number; distance: number } | null>();
  private readonly stations: Stations;

  constructor(stations: Stations) {
    this.stations = stations;
  }

  /** The place of the middle of the square that holds x and y. */
  place(x: number, y: number): { line: number; distance: number } | null {
    const [column, row] = [Math.floor(x / BLOCK), Math.floor(y / BLOCK)];
    const key = column * 2 ** 27 + row;
    let found = this.known.get(key);
    if (found === undefined) {
      found = this.stations.place((column + 0.5) * BLOCK, (row + 0.5) * BLOCK);
      this.known.set(key, found);
    }
    return found;
  }
}

/** Figures of the intervals between borders, from one set of values. */
export function intervalValues(values: PlacedValues, set: number, borders: Borders, table: PlaceTable): IntervalValues {
  const { cell, statistic, sense } = values;
  const one = values.sets[set];
  const first = borders.map((_, line) => borders.slice(0, line).reduce((sum, list) => sum + list.length - 1, 0));
  const total = borders.reduce((sum, list) => sum + list.length - 1, 0);
  const count = new Float64Array(total);
  const value = new Float64Array(total).fill(Number.NaN);
  const tenths = new Uint16Array(total);
  for (let i = 0; i < one.value.length; i++) {
    const { x, y } = placeOf(one, cell, i);
    const place = table.place(x, y);
    if (!place) continue;
    const list = borders[place.line];
    const k = intervalOf(list, place.distance);
    const at = first[place.line] + k;
    const v = one.value[i];
    const before = count[at] === 0 ? null : value[at];
    if (statistic === 'worst') value[at] = before === null || isWorse(v, before, sense) ? v : before;
    else value[at] = (before ?? 0) + (statistic === 'rms' ? v * v : v);
    count[at]++;
    tenths[at] |= tenthsOf(list[k], list[k + 1], place.distance, cell);
  }
  if (statistic !== 'worst')
    for (let at = 0; at < total; at++) {
      const mean = value[at] / count[at];
      value[at] = statistic === 'rms' ? Math.sqrt(mean) : mean;
    }
  return { count, value, tenths };
}

/** Whether a value is farther on the bad side of a limit than another; differences count by their size. */
export function isWorse(a: number, b: number, sense: PlacedValues['sense']): boolean {
  return sense === 'at-most' ? Math.abs(a) > Math.abs(b) : a < b;
}

/** Whether a value keeps a limit. */
export function keeps(value: number, { limit, sense }: Pick<PlacedValues, 'limit' | 'sense'>): boolean {
  return sense === 'at-most' ? Math.abs(value) <= limit : value >= limit;
}

/** The interval of a list of borders that holds a distance. */
function intervalOf(list: readonly number[], distance: number): number {
  let low = 0;
  let high = list.length - 2;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if (list[middle] <= distance) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** All tenths of an interval, as bits. */
export const ALL_TENTHS = 1023;

/** The tenths of an interval that a value at a distance speaks for: those within its cell; all of them for a survey point. */
function tenthsOf(from: number, to: number, distance: number, cell: number): number {
  if (cell === 0) return ALL_TENTHS;
  const reach = Math.max(cell, BLOCK) / 2 - 1e-6;
  const tenth = (to - from) / 10;
  const low = Math.max(0, Math.min(9, Math.floor((distance - reach - from) / tenth)));
  const high = Math.max(0, Math.min(9, Math.floor((distance + reach - from) / tenth)));
  return ((1 << (high + 1)) - 1) & ~((1 << low) - 1);
}

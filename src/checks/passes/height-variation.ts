import { median, percentile } from '../../geometry/statistics.js';
import type { PassPair } from '../../measure/pass-pairs.js';
import type { Variation } from '../advice/rule.js';

/** Edge of the squares, metres, the cells that a square needs, and the squares that show a variation. */
const SQUARE = 10;
const LEAST_CELLS = 10;
const LEAST_SQUARES = 4;

/**
 * How the height difference of a pass pair changes from place to place: medians in squares of 10 m. Returns null for
 * fewer than four squares with ten cells.
 */
export function heightVariation({ x, y, dz }: PassPair['map']): Variation | null {
  const squares = new Map<string, number[]>();
  for (let i = 0; i < dz.length; i++) {
    const key = `${Math.floor(x[i] / SQUARE)} ${Math.floor(y[i] / SQUARE)}`;
    const values = squares.get(key);
    if (values) values.push(dz[i]);
    else squares.set(key, [dz[i]]);
  }
  const medians = [...squares.values()].filter(({ length }) => length >= LEAST_CELLS).map((values) => median(values));
  if (medians.length < LEAST_SQUARES) return null;
  return { least: percentile(medians, 5), most: percentile(medians, 95), squares: medians.length };
}

/**
 * Indices of the largest values, the largest first, the lower index first among equals. One pass over the values: sorting a
 * million of them to find ten would take a second.
 */
export function placesOfLargest(values: ArrayLike<number>, most: number): number[] {
  const places: number[] = [];
  for (let i = 0; i < values.length; i++) {
    if (places.length === most && !(values[i] > values[places[most - 1]])) continue;
    let at = places.length;
    while (at > 0 && values[i] > values[places[at - 1]]) at--;
    places.splice(at, 0, i);
    if (places.length > most) places.pop();
  }
  return places;
}

/**
 * Indices of the largest values in squares of ground of `edge`, one for each square, the largest first: they show different
 * places. Coordinates and edge in one unit; the lower index first among equals. Returns `most` at most.
 */
export function largestBySquare(
  { x, y }: { x: Float64Array; y: Float64Array },
  values: ArrayLike<number>,
  edge: number,
  most: number,
): number[] {
  const squares = new Map<number, number>();
  let key = Number.NaN;
  let largest = 0;
  for (let i = 0; i < x.length; i++) {
    // Exact in 53 bits for coordinates of every projection; neighbours are mostly in the square that was used last.
    const square = Math.floor(x[i] / edge) * 0x400000 + Math.floor(y[i] / edge);
    if (square !== key) {
      key = square;
      largest = squares.get(key) ?? -1;
    }
    if (largest < 0 || values[i] > values[largest]) {
      largest = i;
      squares.set(key, i);
    }
  }
  const places = [...squares.values()].sort((a, b) => a - b);
  return placesOfLargest(
    places.map((i) => values[i]),
    most,
  ).map((k) => places[k]);
}

/**
 * The value that sorting upwards would put at place `rank`, by Hoare's quickselect: the values are put into another order,
 * those of lower rank before it. A median of three as pivot keeps sorted and equal values quick too. No NaN.
 */
export function selectRank(values: Float64Array, rank: number): number {
  let low = 0;
  let high = values.length - 1;
  while (low < high) {
    const pivot = middleOfThree(values[low], values[(low + high) >> 1], values[high]);
    let i = low;
    let j = high;
    while (i <= j) {
      while (values[i] < pivot) i++;
      while (values[j] > pivot) j--;
      if (i > j) break;
      const held = values[i];
      values[i++] = values[j];
      values[j--] = held;
    }
    if (rank <= j) high = j;
    else if (rank >= i) low = i;
    else break;
  }
  return values[rank];
}

function middleOfThree(a: number, b: number, c: number): number {
  return Math.max(Math.min(a, b), Math.min(Math.max(a, b), c));
}

/** The value farthest from zero, with its sign; null where none is known. */
export function farthestFromZero(values: readonly (number | null)[]): number | null {
  let found: number | null = null;
  for (const v of values) if (v !== null && (found === null || Math.abs(v) > Math.abs(found))) found = v;
  return found;
}

/** The largest of the values that are known; null where none is. */
export function largestKnown(values: readonly (number | null)[]): number | null {
  let found: number | null = null;
  for (const v of values) if (v !== null && (found === null || v > found)) found = v;
  return found;
}

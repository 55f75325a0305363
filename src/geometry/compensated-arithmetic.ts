/**
 * Floating-point arithmetic that keeps its rounding errors.
 *
 * Northings of 10^6 to 10^7 m leave few digits for millimetres once they are squared; these are the classical
 * error-free transformations (Dekker 1971, Knuth TAOCP vol. 2 section 4.2.2, Shewchuk 1997).
 */

/** Veltkamp's splitting constant for 53-bit significands, 2^27 + 1. */
const SPLITTER = 134_217_729;

/** What `a * b` loses by rounding: a * b = product + productError(a, b, product) exactly, short of over- and underflow. */
export function productError(a: number, b: number, product: number): number {
  const aWide = SPLITTER * a;
  const aHigh = aWide - (aWide - a);
  const aLow = a - aHigh;
  const bWide = SPLITTER * b;
  const bHigh = bWide - (bWide - b);
  const bLow = b - bHigh;
  return aLow * bLow - (product - aHigh * bHigh - aLow * bHigh - aHigh * bLow);
}

/**
 * a * b - c * d without harmful cancellation: both products are kept exactly as a pair of numbers, so that the error is
 * at most 2^-52 of the result plus 2^-104 of |a * b| + |c * d|. The sign of the result is right for numbers met in
 * surveying.
 */
export function differenceOfProducts(a: number, b: number, c: number, d: number): number {
  const first = a * b;
  const second = c * d;
  const firstLow = productError(a, b, first);
  const secondLow = productError(c, d, second);
  const high = first - second;
  const secondBack = first - high;
  const highLow = first - (high + secondBack) + (secondBack - second);
  return high + (highLow + (firstLow - secondLow));
}

/**
 * Sum of `term(0)` to `term(count - 1)`, correctly rounded: as if added with unlimited digits and rounded once, hence the
 * same bits whatever the order of the terms (Shewchuk's expansion of partial sums that do not overlap).
 */
export function exactSum(count: number, term: (index: number) => number): number {
  const partials: number[] = [];
  for (let i = 0; i < count; i++) {
    let x = term(i);
    let kept = 0;
    for (let k = 0; k < partials.length; k++) {
      let y = partials[k];
      if (Math.abs(x) < Math.abs(y)) {
        const larger = y;
        y = x;
        x = larger;
      }
      const high = x + y;
      const low = y - (high - x);
      if (low !== 0) partials[kept++] = low;
      x = high;
    }
    partials.length = kept;
    partials.push(x);
  }
  return roundPartials(partials);
}

/** Partial sums in growing size, not overlapping, to the nearest number; ties are decided by the next partial below. */
function roundPartials(partials: readonly number[]): number {
  let at = partials.length - 1;
  if (at < 0) return 0;
  let high = partials[at];
  let low = 0;
  while (at > 0) {
    const x = high;
    const y = partials[--at];
    high = x + y;
    low = y - (high - x);
    if (low !== 0) break;
  }
  if (at > 0 && low !== 0 && Math.sign(low) === Math.sign(partials[at - 1])) {
    const doubled = low * 2;
    const raised = high + doubled;
    if (raised - high === doubled) high = raised;
  }
  return high;
}

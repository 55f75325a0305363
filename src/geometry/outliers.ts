import { medianAndNmad, type Values } from './statistics.js';

/** Options of an outlier search. */
export interface OutlierOptions {
  /** Multiples of the NMAD beyond which a value is an outlier; 3 by common practice. */
  factor?: number;
  /** Lower bound of the limit, in the unit of the values, so that rounding is not flagged where the scatter is very small. */
  floor?: number;
}

/** Result of an outlier search, in the unit of the values. */
export interface Outliers {
  /** 1 where the value is farther from the median than `limit`. */
  flags: Uint8Array;
  count: number;
  median: number;
  /** Largest distance from the median that is no outlier. */
  limit: number;
}

/**
 * Flags values farther from the median than factor * NMAD (or the floor, when that is larger). A value exactly at the
 * limit is kept. Nothing is removed; the caller decides about flagged values.
 * Throws RangeError for no values, values that are not finite, or a negative factor or floor.
 */
export function findOutliers(values: Values, options: OutlierOptions = {}): Outliers {
  const { median: middle, limit } = outlierLimit(values, options);
  const flags = new Uint8Array(values.length);
  let count = 0;
  for (let i = 0; i < values.length; i++) {
    if (Math.abs(values[i] - middle) > limit) {
      flags[i] = 1;
      count++;
    }
  }
  return { flags, count, median: middle, limit };
}

/** The median, and how far from it `findOutliers` lets values lie. Throws RangeError as that does. */
export function outlierLimit(values: Values, options: OutlierOptions = {}): Pick<Outliers, 'median' | 'limit'> {
  const { factor = 3, floor = 0 } = options;
  if (!(factor >= 0) || !(floor >= 0)) throw new RangeError(`factor ${factor} and floor ${floor} must not be negative`);
  const { median, nmad } = medianAndNmad(values);
  return { median, limit: Math.max(factor * nmad, floor) };
}

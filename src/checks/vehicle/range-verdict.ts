import type { State } from '../contract/check.js';
import { area, length, percent } from '../contract/wording.js';
import { type RangeClass, rmsDzOf, rmsOf } from './distance-classes.js';

/** The limits of the requirement, and what they are taken over. */
export interface RangeLimits {
  maxRange?: number;
  maxFarShare?: number;
  captureWithin?: number;
  maxFarArea?: number;
  minDensity?: number;
  densityWithin: number;
  maxRms?: number;
  maxRmsDz?: number;
  maxIncidence: number;
  maxSteepShare?: number;
  minPlacedShare: number;
  minCells: number;
}

/** What was found of distances; null: not asked for, or not to be determined. */
export type RangeFigures = Record<
  'farShare' | 'farArea' | 'density' | 'rms' | 'rmsDz' | 'steepShare',
  number | null
> & {
  placedShare: number;
};

/** Holds what was found against the limits, in words. Where too many points have no position, nothing is proven. */
export function holdRange(
  found: RangeFigures,
  r: RangeLimits,
  classes: readonly RangeClass[],
): { state: State; summary: string } {
  const parts: string[] = [];
  let state: State = 'pass';
  const put = (next: State) => {
    if (next === 'fail' || (next === 'undetermined' && state === 'pass')) state = next;
  };
  const compare = (
    value: number | null,
    limit: number | undefined,
    sense: 1 | -1,
    words: (value: number) => string,
  ) => {
    if (limit === undefined) return;
    if (value === null) {
      put('undetermined');
      parts.push('a figure cannot be determined: too few smooth level surfaces, or too few seen by two passes');
      return;
    }
    parts.push(words(value));
    if (sense * (value - limit) > 0) put('fail');
  };
  const worstIn = (of: (one: RangeClass) => number | null, value: number) => {
    const one = classes.find((each) => of(each) === value)!;
    return `${one.from} to ${one.to} m from the scanner`;
  };
  if (r.maxRange !== undefined)
    compare(
      found.farShare,
      r.maxFarShare,
      1,
      (share) =>
        `${percent(share)} of the points are farther than ${r.maxRange} m from the scanner (limit ${percent(r.maxFarShare!)})`,
    );
  if (r.captureWithin !== undefined)
    compare(found.farArea, r.maxFarArea, 1, (value) =>
      value === 0
        ? `all ground was seen from within ${r.captureWithin} m`
        : `${area(value)} side by side were seen from beyond ${r.captureWithin} m only (limit ${area(r.maxFarArea!)})`,
    );
  compare(
    found.density,
    r.minDensity,
    -1,
    (value) =>
      `90 % of the ground seen from within ${r.densityWithin} m has ${value.toFixed(1)} points/m2 or more (${r.minDensity} required)`,
  );
  compare(
    found.rms,
    r.maxRms,
    1,
    (value) =>
      `RMS of ${length(value)} about level planes at ${worstIn((one) => rmsOf(one, r.minCells), value)} (limit ${length(r.maxRms!)})`,
  );
  compare(
    found.rmsDz,
    r.maxRmsDz,
    1,
    (value) =>
      `RMS dz of ${length(value)} at ${worstIn((one) => rmsDzOf(one, r.minCells), value)} (limit ${length(r.maxRmsDz!)})`,
  );
  compare(
    found.steepShare,
    r.maxSteepShare,
    1,
    (value) =>
      `${percent(value)} of the level patches were seen at more than ${r.maxIncidence} degrees from the normal (limit ${percent(r.maxSteepShare!)})`,
  );
  if (found.placedShare < r.minPlacedShare) {
    put('undetermined');
    parts.push(
      `for ${percent(1 - found.placedShare)} of the points the trajectory has no position (limit ${percent(1 - r.minPlacedShare)})`,
    );
  }
  return { state, summary: `${capital(parts.join('; '))}.` };
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

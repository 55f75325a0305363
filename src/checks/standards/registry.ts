import { asprs2014 } from './asprs-2014.js';
import { asprs2023 } from './asprs-2023.js';
import { nchrp748 } from './nchrp-748.js';
import { nssda1998 } from './nssda-1998.js';
import type { AccuracyStandard, Aspect } from './standard.js';
import { usgsQualityLevels } from './usgs-quality-levels.js';

/** Every standard of accuracy there is: one line each. */
export const standards: readonly AccuracyStandard[] = [asprs2014, asprs2023, nchrp748, nssda1998, usgsQualityLevels];

/** Names of the standards that can state the accuracy of heights, of places in plan, or of places in space. */
export function standardsFor(aspect: Aspect): string[] {
  return standards.filter(({ aspects }) => aspects.includes(aspect)).map(({ id }) => id);
}

/** The standard of that name; null for none. */
export function standardById(id: string | undefined): AccuracyStandard | null {
  return standards.find((standard) => standard.id === id) ?? null;
}

import type { RequirementResult } from './model.js';
import { besideLimit, quantity } from './quantity.js';

/** A measured figure set beside its limit; either may be missing. */
export interface FigurePair {
  name: string;
  label: string;
  unit: string;
  measured: number | null | undefined;
  limit: number | null | undefined;
  /** Side of the limit on which the figure is good; null where the report does not say. */
  sense: 'at-most' | 'at-least' | null;
  measuredText: string;
  limitText: string;
}

/** The limit in words: `at most 20.0 mm`. */
export function limitWords({ sense, limitText }: FigurePair): string {
  return sense === null ? `limit ${limitText}` : `${sense === 'at-most' ? 'at most' : 'at least'} ${limitText}`;
}

/**
 * Figures that have a limit, in the order of the limits, each with what was measured. A limit that no single figure is held
 * against has nothing measured, and comes after the others.
 */
export function figuresWithLimits(requirement: RequirementResult): FigurePair[] {
  const pairs = Object.entries(requirement.limits).map(([name, limit]) => {
    const unit = requirement.units[name] ?? '';
    const measured = requirement.measured[name];
    const text = besideLimit(measured ?? null, limit, unit);
    return {
      name,
      label: requirement.labels[name] ?? name,
      unit,
      measured,
      limit,
      sense: requirement.senses[name] ?? null,
      measuredText: measured === undefined ? '' : text.measured,
      limitText: text.limit,
    };
  });
  return [
    ...pairs.filter((pair) => pair.measured !== undefined),
    ...pairs.filter((pair) => pair.measured === undefined),
  ];
}

/** Measured figures that no limit concerns, in the order the check gave them. */
export function figuresWithoutLimits(requirement: RequirementResult): FigurePair[] {
  return Object.entries(requirement.measured)
    .filter(([name]) => !Object.hasOwn(requirement.limits, name))
    .map(([name, measured]) => {
      const unit = requirement.units[name] ?? '';
      return {
        name,
        label: requirement.labels[name] ?? name,
        unit,
        measured,
        limit: undefined,
        sense: null,
        measuredText: quantity(measured, unit),
        limitText: '',
      };
    });
}

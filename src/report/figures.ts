import type { RequirementResult } from './model.js';
import { besideLimit, quantity } from './quantity.js';
import { metricLabel } from './wording.js';

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
 * Figures that have a limit, in the order of the limits, each with what was measured. A limit belongs to the measured
 * figure of the same name, or of the same name without its leading max or min (`maxRmse` limits `rmse`). A limit that
 * limits no single figure stands alone, after the others.
 */
export function figuresWithLimits(requirement: RequirementResult): FigurePair[] {
  const pairs = Object.entries(requirement.limits).map(([name, limit]) => {
    const owner = measuredNameFor(name, requirement.measured);
    const unit = requirement.units[owner ?? name] ?? requirement.units[name] ?? '';
    const measured = owner === null ? undefined : requirement.measured[owner];
    const text = besideLimit(measured ?? null, limit, unit);
    return {
      name: owner ?? name,
      label: owner === null ? limitLabel(name) : metricLabel(owner),
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
  const limited = new Set(Object.keys(requirement.limits).map((name) => measuredNameFor(name, requirement.measured)));
  return Object.entries(requirement.measured)
    .filter(([name]) => !limited.has(name))
    .map(([name, measured]) => {
      const unit = requirement.units[name] ?? '';
      return {
        name,
        label: metricLabel(name),
        unit,
        measured,
        limit: undefined,
        sense: null,
        measuredText: quantity(measured, unit),
        limitText: '',
      };
    });
}

function measuredNameFor(limitName: string, measured: Record<string, number | null>): string | null {
  if (Object.hasOwn(measured, limitName)) return limitName;
  const bare = limitName.replace(/^(max|min)(?=[A-Z])/, '').toLowerCase();
  return Object.keys(measured).find((name) => name.toLowerCase() === bare) ?? null;
}

/** Words for a limit that limits no single figure. */
function limitLabel(name: string): string {
  if (name === 'min') return 'at least';
  if (name === 'max') return 'at most';
  return metricLabel(name);
}

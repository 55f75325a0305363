import type { LIMIT_SENSES } from '../../report-shape/words.js';
import { type Figure, figure, type Unit } from './figure.js';

type LimitSense = (typeof LIMIT_SENSES)[number];

/** A figure that a check measures: its name in the report's tables, its unit, and the limit that it is held against. */
export interface Metric {
  label: string;
  unit: Unit;
  limit?: MetricLimit;
}

/**
 * Where the limit of a figure comes from: an option of the requirement that has the unit of the figure, a fixed value, or the
 * check itself, which works it out (`source: 'judge'`).
 */
export type MetricLimit = { sense: LimitSense } & (
  | { source: 'option'; option: string }
  | { source: 'fixed'; value: number }
  | { source: 'judge' }
);

/** The figures of a check by name, in the order in which limits are reported. */
export type Metrics = Readonly<Record<string, Metric>>;

/** Declares a figure. */
export function metric(label: string, unit: Unit, limit?: MetricLimit): Metric {
  return limit ? { label, unit, limit } : { label, unit };
}

/** The figure must not exceed what the option says. */
export function atMost(option: string): MetricLimit {
  return { sense: 'at-most', source: 'option', option };
}

/** The figure must reach what the option says. */
export function atLeast(option: string): MetricLimit {
  return { sense: 'at-least', source: 'option', option };
}

/** Nothing may be counted. */
export const NONE_ALLOWED: MetricLimit = { sense: 'at-most', source: 'fixed', value: 0 };

/** The check works the limit out from options and the delivery. */
export function limitOfJudge(sense: LimitSense): MetricLimit {
  return { sense, source: 'judge' };
}

/** The limits that a requirement sets, by figure: fixed ones, and those whose option is given. */
export function limitsOf(metrics: Metrics, requirement: object): Record<string, Figure> {
  const options = requirement as Readonly<Record<string, unknown>>;
  const limits: Record<string, Figure> = {};
  for (const [name, { unit, limit }] of Object.entries(metrics)) {
    if (limit?.source === 'fixed') limits[name] = figure(limit.value, unit);
    const given = limit?.source === 'option' ? options[limit.option] : undefined;
    if (typeof given === 'number') limits[name] = figure(given, unit);
  }
  return limits;
}

/**
 * Refuses figures and limits that the check does not declare.
 * @throws RangeError: a mistake of ours
 */
export function refuseUndeclared(
  id: string,
  metrics: Metrics,
  { measured, limits }: Record<'measured' | 'limits', Record<string, Figure>>,
): void {
  for (const [name, { unit }] of Object.entries({ ...measured, ...limits })) {
    if (!Object.hasOwn(metrics, name)) throw new RangeError(`${id} does not declare the figure ${name}`);
    if (metrics[name].unit !== unit)
      throw new RangeError(`${id} declares ${name} in ${metrics[name].unit}, not in ${unit}`);
  }
  for (const name of Object.keys(limits))
    if (!metrics[name].limit) throw new RangeError(`${id} declares no limit for ${name}`);
}

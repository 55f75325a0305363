import type { UNITS } from '../../report-shape/words.js';

export type Unit = (typeof UNITS)[number];

/** A number with its unit. `null`: the number was looked for and could not be determined. */
export interface Figure {
  value: number | null;
  unit: Unit;
}

/** A figure from a number in this unit. */
export function figure(value: number | null, unit: Unit): Figure {
  return { value, unit };
}

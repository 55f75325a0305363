import type { StationNotation } from '../delivery/route.js';
import { Fault } from '../fault.js';

export type { StationNotation };

const NOTATIONS: readonly StationNotation[] = ['3+250', 'km 3.250', '41+57.95'];

/** The value of --station-notation. @throws Fault `usage` */
export function notation(text: string): StationNotation {
  const found = NOTATIONS.find((one) => one === text.trim());
  if (found !== undefined) return found;
  throw new Fault({
    code: 'usage',
    where: '--station-notation',
    what: 'there is no such notation of stations',
    found: text,
    expected: NOTATIONS.join(', '),
  });
}

/** The value of --sections, metres. @throws Fault `usage` */
export function sectionLength(text: string): number {
  const value = Number(text);
  if (value >= 1 && value <= 100_000) return value;
  throw new Fault({
    code: 'usage',
    where: '--sections',
    what: 'the length of a section must be from 1 to 100,000 metres',
    found: text,
  });
}

import {
  PROJECTED_FOOT,
  PROJECTED_OTHER,
  PROJECTED_US_SURVEY_FOOT,
  VERTICAL_FOOT,
  VERTICAL_OTHER,
  VERTICAL_US_SURVEY_FOOT,
} from './epsg-unit-lists.js';
import { FOOT, METRE, type Unit, US_SURVEY_FOOT } from './units.js';

/** Ranges of codes that the lists cover; the edition of the dataset had no others. */
const COVERED = '2000-9977 20000-32767';

/** Pairs first, last of a list like "2204 2225-2243". */
function ranges(list: string): [number, number][] {
  return list
    .trim()
    .split(/\s+/)
    .map((part) => {
      const [first, last = first] = part.split('-');
      return [Number(first), Number(last)];
    });
}

const holds = (list: [number, number][], code: number) => list.some(([first, last]) => code >= first && code <= last);

const PROJECTED: [[number, number][], Unit | null][] = [
  [ranges(PROJECTED_US_SURVEY_FOOT), US_SURVEY_FOOT],
  [ranges(PROJECTED_FOOT), FOOT],
  [ranges(PROJECTED_OTHER), null],
];
const VERTICAL: [[number, number][], Unit | null][] = [
  [ranges(VERTICAL_US_SURVEY_FOOT), US_SURVEY_FOOT],
  [ranges(VERTICAL_FOOT), FOOT],
  [ranges(VERTICAL_OTHER), null],
];
const covered = ranges(COVERED);

/**
 * The unit that belongs to a projected or vertical system by its EPSG code; null for codes newer than the lists and for
 * units other than metre and foot.
 */
export function unitOfSystem(epsg: number, kind: 'projected' | 'vertical'): Unit | null {
  for (const [list, unit] of kind === 'projected' ? PROJECTED : VERTICAL) if (holds(list, epsg)) return unit;
  return holds(covered, epsg) ? METRE : null;
}

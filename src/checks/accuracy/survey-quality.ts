import type { SurveyPoint } from '../../delivery/survey-points.js';
import { rmse } from '../../geometry/statistics.js';
import { length } from '../contract/wording.js';

/** Two survey points this near to each other in plan are the same one given twice, metres. */
export const USUAL_SEPARATION = 0.05;

/** A check point at the place of another survey point, with the nearest other. Metres. */
export interface DoublePoint {
  point: SurveyPoint;
  other: SurveyPoint;
  distance: number;
  words: string;
}

/** The square itself first, then those around it. */
const NEIGHBOURS = [0, 1, -1].flatMap((dx) => [0, 1, -1].map((dy) => [dx, dy] as const));

/**
 * Check points at the place of another point of `points`, control points too: each once, with the nearest other.
 * Points no farther apart in plan than `separation` metres are the same.
 */
export function findDoubles(
  checks: readonly SurveyPoint[],
  points: readonly SurveyPoint[],
  separation: number,
): DoublePoint[] {
  const found: DoublePoint[] = [];
  // Squares of the separation, so that a point is compared with its neighbours only.
  const size = separation > 0 ? separation : 1;
  const squares = new Map<string, number[]>();
  const indexOf = new Map(points.map((point, index) => [point, index]));
  const squareOf = ({ x, y }: SurveyPoint) => [Math.floor(x / size), Math.floor(y / size)];
  points.forEach((point, index) => {
    const key = squareOf(point).join(' ');
    const known = squares.get(key);
    if (known) known.push(index);
    else squares.set(key, [index]);
  });
  for (const point of checks) {
    const own = indexOf.get(point) ?? Number.POSITIVE_INFINITY;
    const [column, row] = squareOf(point);
    let best = -1;
    let least = Number.POSITIVE_INFINITY;
    search: for (const [dx, dy] of NEIGHBOURS) {
      for (const index of squares.get(`${column + dx} ${row + dy}`) ?? []) {
        const other = points[index];
        // Of two check points only the later one is counted.
        if (index === own || (other.role === 'check' && index > own)) continue;
        const distance = Math.hypot(other.x - point.x, other.y - point.y);
        if (distance > separation || distance > least || (distance === least && index > best)) continue;
        best = index;
        least = distance;
        // The first point at the same place is in the first square; without this, many at one place take hours.
        if (distance === 0) break search;
      }
    }
    if (best < 0) continue;
    const other = points[best];
    const what = other.role === 'control' ? `control point ${other.id}` : other.id;
    found.push({ point, other, distance: least, words: `${point.id} is ${what}, ${length(least)} apart` });
  }
  return found;
}

/** How well points were surveyed, metres. */
export interface SurveyAccuracy {
  vertical: number | null;
  horizontal: number | null;
}

/** RMS of the standard deviations stated for the points; horizontal of both axes. Null unless all points have one. */
export function surveyAccuracy(points: readonly SurveyPoint[]): SurveyAccuracy {
  const of = (pick: (p: SurveyPoint) => number | null) => {
    const values = points.map(pick);
    return values.length > 0 && values.every((v) => v !== null) ? rmse(values as number[]) : null;
  };
  const plan = of((p) => p.sigmaH);
  return { vertical: of((p) => p.sigmaV), horizontal: plan === null ? null : Math.SQRT2 * plan };
}

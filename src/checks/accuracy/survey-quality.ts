import type { SurveyPoint } from '../../delivery/survey-points.js';
import { rmse } from '../../geometry/statistics.js';
import { length } from '../contract/wording.js';

/** Two survey points this near to each other in plan are the same one given twice, metres. */
export const USUAL_SEPARATION = 0.05;

/** A check point that stands where another survey point stands, with the nearest other. Metres. */
export interface DoublePoint {
  point: SurveyPoint;
  other: SurveyPoint;
  distance: number;
  words: string;
}

/**
 * Check points that stand where another point of `points` stands, control points too: each once, with the nearest other.
 * Points no farther apart in plan than `separation` metres are the same.
 */
export function findDoubles(
  checks: readonly SurveyPoint[],
  points: readonly SurveyPoint[],
  separation: number,
): DoublePoint[] {
  const found: DoublePoint[] = [];
  for (const point of checks) {
    let best: DoublePoint | null = null;
    for (const other of points) {
      if (other === point) continue;
      const distance = Math.hypot(other.x - point.x, other.y - point.y);
      // Of two check points only the later one is counted.
      if (distance > separation || (other.role === 'check' && points.indexOf(other) > points.indexOf(point))) continue;
      const what = other.role === 'control' ? `control point ${other.id}` : other.id;
      if (best === null || distance < best.distance)
        best = { point, other, distance, words: `${point.id} is ${what}, ${length(distance)} apart` };
    }
    if (best) found.push(best);
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

import type { AnyCheck, Verdict } from '../../src/checks/contract/check.js';
import type { SurveyPoint } from '../../src/delivery/survey-points.js';
import type { Zone } from '../../src/delivery/zones.js';
import type { SurveyedPoint } from '../../src/simulate/scene/survey.js';
import type { SceneColumns } from '../../src/simulate/writer/point-columns.js';
import { deliveryOf, judge, requirementOf, surveyPoint } from '../checks/judge.js';
import { type MeasureOptions, measureFacts } from '../checks/measured-scene.js';

export interface Surroundings {
  survey?: readonly SurveyPoint[];
  zones?: readonly Zone[];
}

/** What a check says of the points of a scene: measured as in a run, without files, likely causes included. */
export function verdictOf(
  check: AnyCheck,
  options: Record<string, unknown>,
  points: SceneColumns,
  { survey, zones }: Surroundings = {},
  how: MeasureOptions = {},
): Verdict {
  const more = { surveyPoints: survey ?? null, zones: zones ?? [] };
  const requirement = requirementOf({ check: check.id, ...options });
  const context = { delivery: deliveryOf(more) };
  const requests = { ...check.needs(requirement, context), ...check.needsForCauses?.(requirement, context) };
  return judge(check, options, measureFacts(points, requests, how), more);
}

/** Figures by name, in their units. */
export function figuresOf({ measured }: Verdict): Record<string, number | null> {
  return Object.fromEntries(Object.entries(measured).map(([name, { value }]) => [name, value]));
}

/** Survey points of a scene as the checks know them, moved. */
export function surveyed(points: readonly SurveyedPoint[], by: readonly number[] = [0, 0, 0]): SurveyPoint[] {
  return points.map(({ id, x, y, z }) => surveyPoint(id, { x: x + by[0], y: y + by[1], z: z + by[2] }));
}

import type { Route } from '../delivery/route.js';
import type { Finding } from '../report/model.js';

/**
 * Findings about the survey points: one when their coordinates were converted, otherwise none.
 * @param convertedFrom name of the system that their horizontal coordinates were converted from; null when they were not converted
 */
export function surveyNotes(convertedFrom: string | null): Finding[] {
  if (convertedFrom === null) return [];
  return [
    {
      severity: 'note',
      code: 'points-projected',
      text: `Plan coordinates of the survey points were brought from ${convertedFrom} to the system of the cloud, on the same datum; their heights were taken as they are.`,
    },
  ];
}

/** What the reader of the route noticed, such as a line far from the cloud. */
export function routeNotes(route: Route | null): Finding[] {
  return (route?.notes ?? []).map((text) => ({ severity: 'note', code: 'route', text }));
}

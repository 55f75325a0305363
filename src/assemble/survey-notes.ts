import type { Finding } from '../report/model.js';

/**
 * What the reader of the report must know of the survey points.
 * @param convertedFrom name of the system that their horizontal coordinates were converted from; null where none was
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

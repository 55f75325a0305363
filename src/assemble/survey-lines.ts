import type { SurveyPointLine } from '../checks/contract/check.js';

/**
 * One line a survey point out of those of several requirements: the first one that has the point leads; differences it
 * does not have are taken from the others, and a point that is a blunder in any is one.
 */
export function mergeSurveyLines(lists: readonly (readonly SurveyPointLine[])[]): SurveyPointLine[] {
  const merged = new Map<string, SurveyPointLine>();
  for (const line of lists.flat()) {
    const known = merged.get(line.id);
    if (!known) {
      merged.set(line.id, { ...line });
      continue;
    }
    known.dx ??= line.dx ?? null;
    known.dy ??= line.dy ?? null;
    if (known.dz === null && line.dz !== null) {
      known.dz = line.dz;
      known.status = line.status;
    }
    if (line.status === 'blunder') known.status = 'blunder';
  }
  return [...merged.values()];
}

import type { SurveyPointLine } from '../checks/contract/check.js';

/**
 * One line for each survey point, from the lines of several requirements. It is the line of the first requirement that has the
 * point; differences that this line lacks are taken from the others, and a point that is a blunder in one of them is a blunder.
 */
export function mergeSurveyLines(lists: readonly (readonly SurveyPointLine[])[]): SurveyPointLine[] {
  const merged = new Map<string, SurveyPointLine>();
  for (const line of lists.flat()) {
    const known = merged.get(line.id);
    if (!known) {
      merged.set(line.id, { ...line });
      continue;
    }
    if (known.dx == null && line.dxStd !== undefined) {
      known.dxStd = line.dxStd;
      known.dyStd = line.dyStd;
    }
    known.dx ??= line.dx ?? null;
    known.dy ??= line.dy ?? null;
    if (known.dz === null && line.dz !== null) {
      known.dz = line.dz;
      known.status = line.status;
      if (line.surfaces) known.surfaces = line.surfaces;
    }
    if (line.status === 'blunder') known.status = 'blunder';
  }
  return [...merged.values()];
}

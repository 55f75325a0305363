import { agreedSystem, unitFile } from '../delivery/agreed-system.js';
import type { DeclaredCrs, DeliveredFile } from '../delivery/delivery.js';
import { readSurveyPoints, type SurveyPoint } from '../delivery/survey-points.js';
import { pointsCrsText, pointsSystem } from './points-crs.js';

/** Survey points in metres, in the coordinate system of the cloud. */
export interface PointsInCloudSystem {
  points: SurveyPoint[];
  /** Name of the system that the horizontal coordinates were converted from; null where nothing was converted. */
  convertedFrom: string | null;
}

/**
 * Reads survey points and converts them to the coordinate system of the cloud; heights are never converted.
 * @throws Fault where the file cannot be used, or where the two systems cannot be brought together
 */
export async function pointsInCloudSystem(
  path: string,
  pointsCrs: string | null,
  cloud: { files: readonly DeliveredFile[]; declared: DeclaredCrs; metresPerUnit: number },
): Promise<PointsInCloudSystem> {
  const { files, declared, metresPerUnit } = cloud;
  const crs = agreedSystem(files, declared).file?.crs ?? null;
  const asked = pointsCrs === null ? null : await pointsCrsText(pointsCrs);
  let from: string | null = null;
  const points = await readSurveyPoints(path, {
    metresPerUnit,
    metresPerUnitHeight: unitFile(files, declared)?.heightUnit ?? metresPerUnit,
    system: (stated) => {
      const system = pointsSystem(asked, stated, { crs, declared }, path);
      from = system?.name ?? null;
      return system;
    },
  });
  return { points, convertedFrom: from };
}

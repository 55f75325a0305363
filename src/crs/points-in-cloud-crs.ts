import type { DeclaredCrs, DeliveredFile } from '../delivery/delivery.js';
import { readSurveyPoints, type SurveyPoint } from '../delivery/survey-points.js';
import type { Finding } from '../report/model.js';
import { pointsCrsText, pointsSystem } from './points-crs.js';

/** Survey points in metres in the system of the cloud, and what the reader of the report must know of it. @throws Fault */
export async function pointsInCloudSystem(
  path: string,
  pointsCrs: string | null,
  cloud: { files: readonly DeliveredFile[]; declared: DeclaredCrs; metresPerUnit: number },
): Promise<{ points: SurveyPoint[]; notes: Finding[] }> {
  const { files, declared, metresPerUnit } = cloud;
  const first = files.find((file) => file.header !== null);
  const crs = files.find((file) => file.crs?.horizontal)?.crs ?? null;
  const asked = pointsCrs === null ? null : await pointsCrsText(pointsCrs);
  let from: string | null = null;
  const points = await readSurveyPoints(path, {
    metresPerUnit,
    metresPerUnitHeight: first?.heightUnit ?? metresPerUnit,
    system: (stated) => {
      const system = pointsSystem(asked, stated, { crs, declared }, path);
      from = system?.name ?? null;
      return system;
    },
  });
  const note = (name: string): Finding => ({
    severity: 'note',
    code: 'points-projected',
    text: `Plan coordinates of the survey points were brought from ${name} to the system of the cloud, on the same datum; their heights were taken as they are.`,
  });
  return { points, notes: from === null ? [] : [note(from)] };
}

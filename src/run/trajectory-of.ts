import { pointsCrsText } from '../crs/points-crs.js';
import { agreedSystem, unitFile } from '../delivery/agreed-system.js';
import type { DeclaredCrs } from '../delivery/delivery.js';
import { statedTime, TIME_SYSTEM_NAMES } from '../delivery/time-systems.js';
import type { Trajectory } from '../delivery/trajectory.js';
import { sampleTimes } from '../engine/sample-times.js';
import type { WorkPlan } from '../engine/work-plan.js';
import { Fault } from '../fault.js';
import { type ReadFile, readTrajectory } from '../trajectory/trajectory.js';

/** The options of a check that concern its trajectory. */
interface TrajectoryPaths {
  trajectory?: readonly string[] | null;
  trajectoryCrs?: string | null;
  trajectoryTime?: string | null;
  onSideFile?: (progress: { file: string; done: number; total: number }) => void;
}

/**
 * The trajectory of a delivery, in the system and the time of its clouds; null where none is given. One that cannot be used has no
 * drives, and says why: the points are then still judged.
 * @throws Fault `file-missing`, `file-unreadable`, `points-crs`, `usage` for options that cannot be followed
 */
export async function trajectoryOf(
  { trajectory: paths, trajectoryCrs, trajectoryTime, onSideFile }: TrajectoryPaths,
  plan: WorkPlan,
  { declared, metresPerUnit }: { declared: DeclaredCrs; metresPerUnit: number },
): Promise<{ trajectory: Trajectory | null; files: ReadFile[] }> {
  if (!paths || paths.length === 0) return { trajectory: null, files: [] };
  const time = trajectoryTime ? statedTime(trajectoryTime) : null;
  if (trajectoryTime && time === null) {
    throw new Fault({
      code: 'usage',
      where: '--trajectory-time',
      what: 'this time system is not known',
      found: trajectoryTime,
      expected: `${TIME_SYSTEM_NAMES}; with a week as in "gps-week-seconds, week 2347"`,
    });
  }
  const { files } = plan;
  return readTrajectory(paths, {
    crs: trajectoryCrs ? await pointsCrsText(trajectoryCrs, '--trajectory-crs') : null,
    time,
    cloud: {
      files,
      crs: agreedSystem(files, declared).file?.crs ?? null,
      declared,
      metresPerUnit,
      metresPerUnitHeight: unitFile(files, declared)?.heightUnit ?? metresPerUnit,
      times: await sampleTimes(plan),
    },
    onProgress: onSideFile,
  });
}

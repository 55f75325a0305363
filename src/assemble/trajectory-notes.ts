import type { Trajectory } from '../delivery/trajectory.js';
import type { Finding } from '../report/model.js';

/** Findings about the trajectory: how it was read, or why it could not be used. */
export function trajectoryNotes(trajectory: Trajectory | null): Finding[] {
  if (trajectory === null) return [];
  const { notes, problem } = trajectory;
  return [
    ...(problem === undefined ? [] : [{ severity: 'error' as const, code: 'trajectory-not-used', text: problem }]),
    ...notes.map((text) => ({ severity: 'note' as const, code: 'trajectory-read', text })),
  ];
}

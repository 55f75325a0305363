import { SOLUTIONS, type Trajectory } from '../src/delivery/trajectory.js';
import type { VehicleDrive } from '../src/simulate/drive/drive-street.js';
import { type TrajectoryOptions, type TrajectoryRow, trajectoryRows } from '../src/simulate/drive/trajectory-rows.js';

/** The trajectory of simulated drives, as reading their files gives it: every row an epoch. */
export function simulatedTrajectory(drives: readonly VehicleDrive[], options: TrajectoryOptions): Trajectory {
  return { drives: drives.map((drive, k) => driveOf(trajectoryRows(drive, options), k)), notes: [] };
}

type NumberKey = Exclude<keyof TrajectoryRow, 'solution'>;

function driveOf(rows: readonly TrajectoryRow[], index: number): Trajectory['drives'][number] {
  const wide = (key: NumberKey) => {
    const column = new Float64Array(new SharedArrayBuffer(rows.length * 8));
    for (const [i, row] of rows.entries()) column[i] = row[key];
    return column;
  };
  const column = (key: NumberKey) => Float32Array.from(rows, (row) => row[key]);
  return {
    name: `drive-${index + 1}.csv`,
    digest: String(index).padStart(64, '0'),
    rows: rows.length,
    epochs: rows.length,
    time: wide('time'),
    x: wide('x'),
    y: wide('y'),
    z: wide('z'),
    interval: Float32Array.from(rows, (row, i) => (rows[i + 1]?.time ?? row.time) - row.time),
    roll: column('roll'),
    pitch: column('pitch'),
    heading: column('heading'),
    sigmaEast: column('sigmaEast'),
    sigmaNorth: column('sigmaNorth'),
    sigmaUp: column('sigmaUp'),
    sigmaRoll: column('sigmaRoll'),
    sigmaPitch: column('sigmaPitch'),
    sigmaHeading: column('sigmaHeading'),
    separationEast: null,
    separationNorth: null,
    separationUp: null,
    solution: Uint8Array.from(rows, ({ solution }) => SOLUTIONS.indexOf(solution)),
    satellites: Uint8Array.from(rows, ({ satellites }) => satellites),
    pdop: column('pdop'),
    baseDistance: null,
    means: {},
  };
}

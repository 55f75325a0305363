/** How a position was obtained, worst first. A loss of fixed position is everything below "fixed". */
export const SOLUTIONS = ['none', 'dead-reckoning', 'code', 'differential', 'float', 'fixed'] as const;

export type Solution = (typeof SOLUTIONS)[number];

/**
 * One drive of the vehicle: its trajectory in epochs, ascending in time. An epoch stands for the rows of the file within at most
 * `EPOCH_SECONDS` that have one solution, so that memory does not grow with the rate of the file; time, position and attitude are those
 * of its first row, every quality is the worst of its rows. An array of a column that the file does not have is null.
 * Arrays lie in shared memory, so that workers read them without a copy.
 */
export interface Drive {
  /** File name, or file name and number where a file holds several drives. */
  name: string;
  /** SHA-256 of the file, 64 hexadecimal digits. It stands for the drive in the key of a fact. */
  digest: string;
  /** Rows of the file, and epochs made of them. */
  rows: number;
  epochs: number;
  /** GPS time in the time system of the clouds, seconds. */
  time: Float64Array;
  /** Position of the reference point of the vehicle in the system of the cloud, metres. */
  x: Float64Array;
  y: Float64Array;
  z: Float64Array;
  /** Time to the next row where it is longest within the epoch or to the next epoch, seconds; 0 for the last epoch. */
  interval: Float32Array;
  /** Degrees: roll, left side up positive; pitch, front up positive; heading, clockwise from grid north, 0 to 360. */
  roll: Float32Array | null;
  pitch: Float32Array | null;
  heading: Float32Array | null;
  /** Standard deviations, metres. */
  sigmaEast: Float32Array | null;
  sigmaNorth: Float32Array | null;
  sigmaUp: Float32Array | null;
  /** Standard deviations, degrees. */
  sigmaRoll: Float32Array | null;
  sigmaPitch: Float32Array | null;
  sigmaHeading: Float32Array | null;
  /** Forward minus backward solution, metres. */
  separationEast: Float32Array | null;
  separationNorth: Float32Array | null;
  separationUp: Float32Array | null;
  /** Place in SOLUTIONS. */
  solution: Uint8Array | null;
  /** Number of satellites; NOT_STATED where no row of the epoch states it. */
  satellites: Uint8Array | null;
  pdop: Float32Array | null;
  /** Distance to the reference station, metres. */
  baseDistance: Float32Array | null;
  /** Means over all rows of the file, by column, for the columns whose mean a requirement can limit; of separations the mean size. */
  means: Partial<Record<TrajectoryMean, number>>;
  /**
   * Name of the drive that this one continues: a drive over the end of the GPS week is cut there where the clouds count seconds of
   * the week, which begin again from 0.
   */
  continues?: string;
}

/** Satellites of an epoch whose rows do not state them. */
export const NOT_STATED = 255;

/** Columns of which the mean over all rows is kept. */
export type TrajectoryMean =
  | 'sigmaEast'
  | 'sigmaNorth'
  | 'sigmaUp'
  | 'sigmaRoll'
  | 'sigmaPitch'
  | 'sigmaHeading'
  | 'separationEast'
  | 'separationNorth'
  | 'separationUp';

/** Longest time that the rows of one epoch span, seconds. At 20 m/s and 2 m/s² linear interpolation is within 1 mm. */
export const EPOCH_SECONDS = 0.05;

/** The trajectory of the delivery: its drives, ascending by their first time. */
export interface Trajectory {
  drives: readonly Drive[];
  /** Words for the report: the system of the positions and of the time, and how they were found. */
  notes: readonly string[];
  /** Why the trajectory cannot be used or set beside the cloud; there are no drives then. Requirements that need it are undetermined. */
  problem?: string;
}

import type { PassFaults } from './pass-faults.js';
import type { Street } from './street.js';

/**
 * One drive of the vehicle: a helical scan, line after line along the street, each line from the top of one side down
 * under the vehicle and up the other side.
 */
export interface ScanPass {
  pointSourceId: number;
  /** Where the vehicle drives: v of its track, +1 along u or -1 against it. */
  lane: number;
  direction: 1 | -1;
  /** Metres per second. */
  speed: number;
  /** GPS time of the first line, seconds, as stored. */
  startTime: number;
  /** Angle of each head's scan plane against the cross section, degrees; their order is the scanner channel. */
  headYaws: readonly number[];
  /** Travel between two lines of one head, metres: speed divided by lines per second. */
  lineSpacing: number;
  /**
   * Equal angles, as a turning mirror gives them; or the same density on every surface, `spacing` along the line on the
   * ground and closer on walls, which fewer lines meet.
   */
  pattern: { by: 'angle'; stepDegrees: number } | { by: 'surface'; spacing: number };
  faults?: PassFaults;
  /** The vehicle that drives the pass, with its own speed, errors and lever arms. */
  vehicle?: PassVehicle;
}

/** A vehicle on a pass. Times are seconds since the start of the pass. */
export interface PassVehicle {
  /** When the vehicle has driven so many metres of the pass. */
  timeAt: (metres: number) => number;
  /** GPS time as stored. */
  stampAt: (seconds: number) => number;
  /** Error of position (along, left, up, metres) and of attitude (roll, pitch, heading, radians), written into `out`. */
  errorAt: (seconds: number, out: Float64Array) => void;
  /** By head: from the reference point forward, left and up, metres. */
  leverArms: readonly (readonly number[])[];
  /** By head: roll, pitch, heading of its mounting, radians. */
  mountingErrors: readonly (readonly number[])[];
}

/** Options of a simulated pass. Lengths in metres. */
export interface ScanOptions {
  street: Street;
  passes: readonly ScanPass[];
  /** Along the street, absolute u: what is scanned. Nothing outside is kept. */
  from: number;
  to: number;
  /** World rectangle kept: minimum easting and northing (inside), maximum (outside). */
  clip?: readonly [number, number, number, number];
  /** Range noise, standard deviation in metres, default 0.006. */
  noise?: number;
  /** Along the normal of the surface (default: the residual from the surface then has exactly this sigma), or the beam. */
  noiseAlong?: 'normal' | 'beam';
  /** Coordinates are rounded to this, metres, default 0.001; null leaves them alone. */
  resolution?: number | null;
  seed: number;
  blockPoints?: number;
}

/** Height of the scanner above the road. */
export const SCANNER_HEIGHT = 2.2;

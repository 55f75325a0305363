import { SCANNER_HEIGHT } from '../scene/scan-options.js';
import { profileHeight, toWorld } from '../scene/street.js';
import { sumErrors } from './drive-errors.js';
import type { VehicleDrive } from './drive-street.js';
import type { VehicleState } from './motion.js';

/** Base of the standard deviations: metres east, north, up; degrees roll, pitch, heading. */
interface RowSigmas {
  position: readonly [number, number, number];
  attitude: readonly [number, number, number];
}

/** How the rows of a trajectory are made. */
export interface TrajectoryOptions {
  /** Rows a second. */
  rate: number;
  /**
   * `honest`: a standard deviation covers the error that is planted at its time; `optimistic`: the base values everywhere.
   */
  sigmas?: 'honest' | 'optimistic';
  base?: RowSigmas;
}

/** A row of the trajectory: stored time, position in metres, attitude in degrees, heading clockwise from grid north. */
export interface TrajectoryRow {
  time: number;
  x: number;
  y: number;
  z: number;
  roll: number;
  pitch: number;
  heading: number;
  sigmaEast: number;
  sigmaNorth: number;
  sigmaUp: number;
  sigmaRoll: number;
  sigmaPitch: number;
  sigmaHeading: number;
  solution: 'fixed' | 'dead-reckoning';
  satellites: number;
  pdop: number;
}

const USUAL_SIGMAS: RowSigmas = { position: [0.008, 0.008, 0.012], attitude: [0.005, 0.005, 0.015] };
const DEGREES = 180 / Math.PI;

/**
 * The rows of a trajectory, every 1 / rate seconds. The reference point is at the height of the scanner above the carriageway; pitch
 * follows the grade of the street, roll is 0.
 */
export function trajectoryRows(drive: VehicleDrive, options: TrajectoryOptions): TrajectoryRow[] {
  const count = Math.floor(drive.times.end * options.rate + 1e-9) + 1;
  const state: VehicleState = { u: 0, v: 0, direction: 0, speed: 0 };
  const error = new Float64Array(6);
  return Array.from({ length: count }, (_, k) => {
    const seconds = k / options.rate;
    drive.motion.stateAt(seconds, state);
    sumErrors(drive.errors, seconds, error);
    return rowAt(drive, seconds, state, error, options);
  });
}

function rowAt(
  { street, times, stamp }: VehicleDrive,
  seconds: number,
  { u, v, direction }: VehicleState,
  error: Float64Array,
  { sigmas = 'honest', base = USUAL_SIGMAS }: TrajectoryOptions,
): TrajectoryRow {
  const angle = direction + (street.headingDegrees * Math.PI) / 180;
  const east = error[0] * Math.cos(angle) - error[1] * Math.sin(angle);
  const north = error[0] * Math.sin(angle) + error[1] * Math.cos(angle);
  const [x, y] = toWorld(street, u, v);
  const half = street.roadWidth / 2;
  const ground = street.heightAtOrigin + street.grade * u + profileHeight(street, Math.max(-half, Math.min(half, v)));
  const heading = (((90 - (angle - error[5]) * DEGREES) % 360) + 360) % 360;
  const without = times.outages.some(({ from, to }) => seconds >= from && seconds < to);
  const sigma = (axis: number, planted: number) => {
    const own = axis < 3 ? base.position[axis] : base.attitude[axis - 3];
    return sigmas === 'honest' ? Math.hypot(own, planted) : own;
  };
  return {
    time: stamp(seconds),
    x: x + east,
    y: y + north,
    z: ground + SCANNER_HEIGHT + error[2],
    roll: error[3] * DEGREES,
    pitch: (Math.atan(street.grade * Math.cos(direction)) + error[4]) * DEGREES,
    heading,
    sigmaEast: sigma(0, east),
    sigmaNorth: sigma(1, north),
    sigmaUp: sigma(2, error[2]),
    sigmaRoll: sigma(3, error[3] * DEGREES),
    sigmaPitch: sigma(4, error[4] * DEGREES),
    sigmaHeading: sigma(5, error[5] * DEGREES),
    solution: without ? 'dead-reckoning' : 'fixed',
    satellites: without ? 0 : 11,
    pdop: without ? 99.9 : 1.6,
  };
}

/** Errors of position in metres along, left of and above the vehicle; of attitude in degrees: left side up, front up, clockwise. */
export interface ErrorSizes {
  along?: number;
  left?: number;
  up?: number;
  roll?: number;
  pitch?: number;
  heading?: number;
}

/**
 * An error of the trajectory between two times, seconds since the begin of the drive. `constant`: the whole size from the first
 * moment; `growing`: from 0 to the size, as a filter that runs forward leaves it; `smoothed`: largest in the middle and 0 at both
 * ends, as a solution forward and backward leaves it.
 */
export interface DriveError extends ErrorSizes {
  from: number;
  to: number;
  shape: 'constant' | 'growing' | 'smoothed';
  /** A growing error follows this power of time; 1 where it is not given. */
  power?: number;
  /** Whether the size that was reached stays after `to`; else the error ends there. */
  stays?: boolean;
  /** The error is in the trajectory and not in the points. */
  onlyInTrajectory?: boolean;
}

/** Places in an array of errors: metres, metres, metres, radians, radians, radians. */
const ERROR_AXES = ['along', 'left', 'up', 'roll', 'pitch', 'heading'] as const;

/** The sum of the errors at a time, seconds since the begin of the drive, written into `out` in the order of ERROR_AXES. */
export function sumErrors(errors: readonly DriveError[], seconds: number, out: Float64Array): void {
  out.fill(0);
  for (const error of errors) {
    const share = shareAt(error, seconds);
    if (share === 0) continue;
    for (let k = 0; k < 6; k++) {
      const size = error[ERROR_AXES[k]] ?? 0;
      out[k] += share * (k < 3 ? size : (size * Math.PI) / 180);
    }
  }
}

function shareAt({ from, to, shape, power = 1, stays }: DriveError, seconds: number): number {
  if (seconds < from || (seconds >= to && stays !== true)) return 0;
  if (shape === 'constant') return 1;
  const passed = Math.min(1, (seconds - from) / (to - from));
  return shape === 'growing' ? passed ** power : 4 * passed * (1 - passed);
}

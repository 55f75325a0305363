import type { Drive } from '../../../src/delivery/trajectory.js';

/** What a test wants otherwise; positions are functions of the time. */
export type DriveParts = Partial<Omit<Drive, 'x' | 'y' | 'z'>> & {
  x?: (time: number) => number;
  y?: (time: number) => number;
};

/** A drive by hand: one epoch for each time; columns that are not given are null. */
export function driveOf(times: readonly number[], more: DriveParts = {}): Drive {
  const { x, y, ...rest } = more;
  const time = Float64Array.from(times);
  return {
    name: 'drive.csv',
    digest: '0'.repeat(64),
    rows: times.length,
    epochs: times.length,
    time,
    x: time.map(x ?? ((t) => 10 * t)),
    y: time.map(y ?? (() => 0)),
    z: new Float64Array(times.length),
    interval: Float32Array.from(times, (t, e) => (e + 1 < times.length ? times[e + 1] - t : 0)),
    roll: null,
    pitch: null,
    heading: null,
    sigmaEast: null,
    sigmaNorth: null,
    sigmaUp: null,
    sigmaRoll: null,
    sigmaPitch: null,
    sigmaHeading: null,
    separationEast: null,
    separationNorth: null,
    separationUp: null,
    solution: null,
    satellites: null,
    pdop: null,
    baseDistance: null,
    means: {},
    ...rest,
  };
}

/** Times from 0 on, one every `step` seconds. */
export function timesOf(count: number, step = 0.1): number[] {
  return Array.from({ length: count }, (_, i) => Math.round(i * step * 1e6) / 1e6);
}

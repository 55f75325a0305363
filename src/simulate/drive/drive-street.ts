import { FIRST_GPS_TIME } from '../scene/drives.js';
import { scanLead } from '../scene/scan-lead.js';
import type { ScanPass } from '../scene/scan-options.js';
import type { Street } from '../scene/street.js';
import { type DriveError, type ErrorSizes, sumErrors } from './drive-errors.js';
import { distanceToReach, Motion } from './motion.js';
import { driveTo } from './shortest-path.js';

/** One way along the street, in the lane `lane` (v of the track), +1 along u or -1 against it. */
interface Leg {
  lane: number;
  direction: 1 | -1;
  /** Stops: metres from the begin of the leg, and seconds. */
  stops?: readonly { at: number; seconds: number }[];
  /** Changes of the speed: metres from the begin of the leg at which they begin, and the new speed, metres a second. */
  speeds?: readonly { at: number; speed: number }[];
}

/** A manoeuvre in which the attitude is aligned: standing, then driven loops to the left and right by turns. */
interface Alignment {
  standSeconds: number;
  loops: number;
}

/** A time without position from satellites: a leg (counted from 0) and the metres from its begin, and the error that grows. */
interface Outage extends OutageError {
  leg: number;
  fromMetres: number;
  toMetres: number;
}

/** The same by time, seconds since the begin of the drive. */
interface TimedOutage extends OutageError {
  from: number;
  to: number;
}

interface OutageError {
  error?: ErrorSizes;
  shape?: 'growing' | 'smoothed';
  power?: number;
}

/** A scanner head: yaw of its scan plane, degrees, its place from the reference point and the error of its mounting. */
interface Head {
  yaw: number;
  /** Forward, left and up of the reference point of the vehicle, metres. */
  leverArm?: readonly [number, number, number];
  /** Roll, pitch, heading, degrees: in the points, and not in the trajectory. */
  mountingError?: readonly [number, number, number];
}

/** A drive of the vehicle along a street. Metres, seconds, degrees. */
export interface VehicleDriveOptions {
  street: Street;
  from: number;
  to: number;
  legs: readonly Leg[];
  heads?: readonly Head[];
  speed?: number;
  lineSpacing?: number;
  pattern?: ScanPass['pattern'];
  /** First time as adjusted standard time, seconds. */
  startTime?: number;
  /** Times are stored as seconds of the GPS week instead. */
  weekSeconds?: boolean;
  firstSourceId?: number;
  /** null: none is driven. */
  alignmentBefore?: Alignment | null;
  alignmentAfter?: Alignment | null;
  /** A function gets the times of the drive. */
  outages?: readonly Outage[] | ((times: DriveTimes) => readonly TimedOutage[]);
  /** Further errors, by time since the begin of the drive; a function gets the times of the drive. */
  errors?: readonly DriveError[] | ((times: DriveTimes) => readonly DriveError[]);
}

/** Seconds since the begin of the drive: when parts of it begin and end. */
interface DriveTimes {
  legs: { from: number; to: number }[];
  outages: { from: number; to: number }[];
  /** When the alignment before the first leg ended, and the one after the last leg began; null where there is none. */
  aligned: number | null;
  closing: number | null;
  end: number;
}

/** A drive that was simulated: the exact motion, what is wrong with it, and the passes that its scanner makes. */
export interface VehicleDrive {
  street: Street;
  motion: Motion;
  times: DriveTimes;
  errors: readonly DriveError[];
  passes: ScanPass[];
  /** The time as stored of seconds since the begin of the drive. */
  stamp: (seconds: number) => number;
}

const WEEK = 604_800;
const ADJUSTED = 1e9;
const TURN_RADIUS = 6;
const TURN_SPEED = 4;
const LOOP_RADIUS = 8;
const USUAL_ALIGNMENT: Alignment = { standSeconds: 60, loops: 2 };
const USUAL_HEADS: readonly Head[] = [{ yaw: 40 }, { yaw: -40 }];

/**
 * Drives a vehicle along the street: it aligns beyond the end of the street, drives the legs with turns between them, and aligns
 * again. The points of the passes get the errors of the trajectory at their times.
 */
export function driveStreet(options: VehicleDriveOptions): VehicleDrive {
  const { street, legs, heads = USUAL_HEADS, speed = 10, lineSpacing = 0.1, firstSourceId = 1 } = options;
  const startTime = options.startTime ?? FIRST_GPS_TIME;
  const stamp = (seconds: number) => stored(startTime + seconds, options.weekSeconds === true);
  const bare = { headYaws: heads.map(({ yaw }) => yaw), lineSpacing, pattern: options.pattern ?? USUAL_PATTERN };
  const { motion, times, begins } = planMotion(options, (lane) => scanLead(street, { ...bare, lane }), speed);
  const errors = [...outageErrors(options, times, motion, begins), ...furtherErrors(options, times)];
  const inPoints = errors.filter(({ onlyInTrajectory }) => onlyInTrajectory !== true);
  const passes = legs.map(
    ({ lane, direction }, k): ScanPass => ({
      ...bare,
      pointSourceId: firstSourceId + k,
      lane,
      direction,
      speed,
      startTime: stamp(times.legs[k].from),
      vehicle: {
        timeAt: (metres) => motion.timeAt(begins[k] + metres) - times.legs[k].from,
        stampAt: (seconds) => stamp(times.legs[k].from + seconds),
        errorAt: (seconds, out) => sumErrors(inPoints, times.legs[k].from + seconds, out),
        leverArms: heads.map(({ leverArm }) => leverArm ?? [0, 0, 0]),
        mountingErrors: heads.map(({ mountingError }) => (mountingError ?? [0, 0, 0]).map((d) => (d * Math.PI) / 180)),
      },
    }),
  );
  return { street, motion, times, errors, passes, stamp };
}

const USUAL_PATTERN: ScanPass['pattern'] = { by: 'surface', spacing: 0.26 };

function stored(time: number, weekSeconds: boolean): number {
  return weekSeconds ? (((time + ADJUSTED) % WEEK) + WEEK) % WEEK : time;
}

function planMotion(options: VehicleDriveOptions, lead: (lane: number) => number, speed: number) {
  const { from, to, legs, alignmentBefore = USUAL_ALIGNMENT, alignmentAfter = USUAL_ALIGNMENT } = options;
  const slow = Math.min(speed, TURN_SPEED);
  const run = distanceToReach(slow, speed);
  const places = legs.map(({ lane, direction }) => {
    const [begin, end] = direction > 0 ? [from - lead(lane), to + lead(lane)] : [to + lead(lane), from - lead(lane)];
    return { begin, end, metres: Math.abs(end - begin), lane, direction, heading: direction > 0 ? 0 : Math.PI };
  });
  const [first] = places;
  const motion = new Motion({
    u: first.begin - first.direction * (run + 8 * LOOP_RADIUS),
    v: first.lane,
    direction: first.heading,
  });
  const times: DriveTimes = { legs: [], outages: [], aligned: null, closing: null, end: 0 };
  align(motion, alignmentBefore, slow);
  if (alignmentBefore !== null) times.aligned = motion.seconds;
  motion.reach(slow);
  const begins: number[] = [];
  places.forEach(({ begin, metres, lane, direction, heading }, k) => {
    driveTo(motion, { u: begin - direction * run, v: lane, direction: heading }, TURN_RADIUS);
    motion.reach(speed);
    begins.push(motion.metres);
    const time = motion.seconds;
    driveLeg(motion, metres, legs[k]);
    times.legs.push({ from: time, to: motion.seconds });
    motion.reach(slow);
  });
  motion.drive(4 * LOOP_RADIUS);
  if (alignmentAfter !== null) times.closing = motion.seconds;
  if (alignmentAfter !== null) loop(motion, alignmentAfter.loops);
  motion.reach(0);
  motion.stand(alignmentAfter?.standSeconds ?? 0);
  times.end = motion.seconds;
  return { motion, times, begins };
}

function align(motion: Motion, alignment: Alignment | null, speed: number): void {
  motion.stand(alignment?.standSeconds ?? 0);
  motion.reach(speed);
  if (alignment !== null) loop(motion, alignment.loops);
}

/** Full circles, to the left and to the right by turns. */
function loop(motion: Motion, loops: number): void {
  for (let k = 0; k < loops; k++)
    motion.drive(2 * Math.PI * LOOP_RADIUS, motion.end.speed, (k % 2 === 0 ? 1 : -1) / LOOP_RADIUS);
}

/** Drives a leg with its stops and speeds. @throws RangeError where they are too near to one another */
function driveLeg(motion: Motion, metres: number, { stops = [], speeds = [] }: Leg): void {
  let done = 0;
  const straightTo = (at: number) => {
    if (at < done - 1e-9 || at > metres) throw new RangeError('stops and speeds of a leg are too near to one another');
    motion.drive(at - done);
    done = Math.max(done, at);
  };
  const reach = (speed: number) => {
    done += distanceToReach(motion.end.speed, speed);
    motion.reach(speed);
  };
  const events = [
    ...stops.map(({ at, seconds }) => ({ at, seconds, speed: null })),
    ...speeds.map(({ at, speed }) => ({ at, seconds: 0, speed })),
  ].sort((a, b) => a.at - b.at);
  for (const { at, seconds, speed } of events) {
    if (speed !== null) {
      straightTo(at);
      reach(speed);
      continue;
    }
    const before = motion.end.speed;
    straightTo(at - distanceToReach(before, 0));
    reach(0);
    motion.stand(seconds);
    reach(before);
  }
  straightTo(metres);
}

function outageErrors(
  { outages = [] }: VehicleDriveOptions,
  times: DriveTimes,
  motion: Motion,
  begins: readonly number[],
): DriveError[] {
  const at = (leg: number, metres: number) => motion.timeAt(begins[leg] + metres);
  const timed =
    typeof outages === 'function'
      ? outages(times)
      : outages.map((one) => ({ ...one, from: at(one.leg, one.fromMetres), to: at(one.leg, one.toMetres) }));
  return timed.map(({ from, to, error, shape = 'growing', power }) => {
    times.outages.push({ from, to });
    return { ...error, from, to, shape, power };
  });
}

function furtherErrors({ errors = [] }: VehicleDriveOptions, times: DriveTimes): readonly DriveError[] {
  return typeof errors === 'function' ? errors(times) : errors;
}

import type { PositionSystem } from '../crs/trajectory-system.js';
import { Fault } from '../fault.js';
import { headingAgainstCourse } from './fit-place.js';
import type { RawFile } from './raw-drive.js';

const DEGREES = 180 / Math.PI;
/** Headings agree with the course over ground within this many degrees, forwards or backwards. */
const AGREES = 20;
/** Places at which heading and course are compared, at least. */
const LEAST_PLACES = 20;

/**
 * Degrees in the unit of the angles of a drive: 1, or 180/pi where they are radians. Where the file states no unit, headings are set
 * beside the course over ground.
 * @throws Fault `trajectory-angles` where the stated unit contradicts the course over ground
 */
export function headingFactor(
  x: Float64Array,
  y: Float64Array,
  heading: Float32Array,
  file: RawFile,
  where: string,
): number {
  const stated = file.factors.heading;
  const factor = typeof stated === 'number' ? stated : 1;
  const largest = heading.reduce((most, value) => Math.max(most, Math.abs(value) || 0), 0);
  const beyondTurn = largest > 2 * Math.PI + 0.01;
  if (stated === undefined && beyondTurn) return 1;
  if (factor !== 1 && beyondTurn) throw wrongUnit(where, factor, `one of them is ${largest.toFixed(3)}`);
  const agrees = (by: number) => {
    const { median, count } = headingAgainstCourse(x, y, heading, by);
    return count < LEAST_PLACES ? null : median <= AGREES || median >= 180 - AGREES;
  };
  const [asDegrees, asRadians] = [agrees(1), agrees(DEGREES)];
  if (asDegrees === null || asDegrees === asRadians) return factor;
  const fits = asRadians ? DEGREES : 1;
  if (!file.anglesStated) return fits;
  if (Math.abs(fits - factor) < 1e-6) return factor;
  const unit = fits === 1 ? 'degrees' : 'radians';
  throw wrongUnit(where, factor, `headings agree with the course driven only as ${unit}`);
}

function wrongUnit(where: string, factor: number, why: string): Fault {
  return new Fault({
    code: 'trajectory-angles',
    where,
    what: `angles are stated in ${factor === 1 ? 'degrees' : 'radians'}, but ${why}`,
    advice: 'Correct the names of the columns, or the line "# angles: ..."',
  });
}

/**
 * Angle from true north to grid north at each place, degrees, clockwise positive.
 * @param longitude latitude degrees
 */
export function convergence(
  longitude: Float64Array,
  latitude: Float64Array,
  { transform }: PositionSystem,
): Float32Array {
  const angles = new Float32Array(longitude.length);
  const step = 1e-4;
  for (let i = 0; i < longitude.length; i++) {
    const here = transform?.(longitude[i], latitude[i]);
    const north = transform?.(longitude[i], latitude[i] + step);
    if (here && north) angles[i] = -Math.atan2(north[0] - here[0], north[1] - here[1]) * DEGREES;
  }
  return angles;
}

/** Headings from 0 to 360 degrees, clockwise from grid north; `turned`: from true to grid north, see convergence. */
export function normalised(heading: Float32Array, turned: Float32Array | null): void {
  for (let i = 0; i < heading.length; i++) {
    const grid = heading[i] - (turned === null ? 0 : turned[i]);
    heading[i] = ((grid % 360) + 360) % 360;
  }
}

import type { RouteLine, StationEquation } from '../delivery/route.js';
import { Fault } from '../fault.js';

/** A line as its file has it: lengths and stations in the unit of the file. */
export interface FileLine {
  name: string;
  /** File and place in it, for messages. */
  where: string;
  x: number[];
  y: number[];
  /** Distance of each vertex from the begin along the curve. */
  distance: number[];
  startStation: number;
  equations: readonly StationEquation[];
  direction: RouteLine['direction'];
  lanes: number | null;
  plannedPasses: number | null;
}

/** What a file of a route holds. */
export interface RouteFile {
  lines: FileLine[];
  /** Metres per unit that the file states; null where it states none. */
  metresPerUnit: number | null;
  /** Horizontal coordinate system that the file states, such as "EPSG:25832"; null where it states none. */
  system: string | null;
  notes: string[];
}

/** An equation as files write it: its place as internal distance, as station before it, or both. */
export interface WrittenEquation {
  internal: number | null;
  back: number | null;
  ahead: number;
  increasing: boolean;
}

/** Difference up to which two statements of a file about one place agree: files round to centimetres. */
const ROUNDING_METRES = 0.02;

/**
 * The equations of a line in its order. An equation without internal distance is where the stations of the stretch before it reach
 * its station back.
 * @throws Fault `route-station` for an equation beside the line, out of order, or whose statements contradict each other
 */
export function equationsOf(
  written: readonly WrittenEquation[],
  { startStation, length, metresPerUnit }: { startStation: number; length: number; metresPerUnit: number },
  where: string,
): StationEquation[] {
  const tolerance = ROUNDING_METRES / metresPerUnit;
  const equations: StationEquation[] = [];
  let last = { internal: startStation, ahead: startStation, increasing: true };
  for (const [i, { internal: stated, back: statedBack, ahead, increasing }] of written.entries()) {
    const here = `${where}, station equation ${i + 1}`;
    const sign = last.increasing ? 1 : -1;
    const internal = stated ?? last.internal + sign * ((statedBack ?? Number.NaN) - last.ahead);
    if (!Number.isFinite(internal) || !Number.isFinite(ahead))
      throw stationFault('the equation needs its place (internal or back) and the station ahead', here);
    const back = last.ahead + sign * (internal - last.internal);
    if (statedBack !== null && Math.abs(statedBack - back) > tolerance) {
      throw stationFault('the station back is not the one that is reached there', here, statedBack, round(back));
    }
    if (internal < last.internal - tolerance || internal > startStation + length + tolerance) {
      const what =
        internal < last.internal
          ? 'the equation comes before the one before it'
          : 'the equation is beyond the end of the line';
      throw stationFault(what, here, internal, `${round(last.internal)} to ${round(startStation + length)}`);
    }
    last = { internal, ahead, increasing };
    equations.push({ internal, back, ahead, increasing });
  }
  return equations;
}

/** A fault of stations. */
export function stationFault(what: string, where: string, found?: string | number, expected?: string | number): Fault {
  return new Fault({ code: 'route-station', what, where, found, expected });
}

/** A fault of the shape of a route. */
export function shapeFault(
  what: string,
  where: string,
  more: { found?: string | number; expected?: string; advice?: string } = {},
): Fault {
  return new Fault({ code: 'route-shape', what, where, ...more });
}

/** Distances of vertices from the first one, along the chords. */
export function chordDistances(x: readonly number[], y: readonly number[]): number[] {
  const distances = x.length === 0 ? [] : [0];
  for (let i = 1; i < x.length; i++) distances.push(distances[i - 1] + Math.hypot(x[i] - x[i - 1], y[i] - y[i - 1]));
  return distances;
}

/** Number of lanes or passes: a whole number from 1, or null where none is given. @throws Fault `route-shape` */
export function wholeNumber(value: unknown, what: string, where: string): number | null {
  if (value === null || value === undefined || value === '') return null;
  const number = Number(value);
  if (Number.isInteger(number) && number >= 1 && number <= 1000) return number;
  throw shapeFault(`${what} must be a whole number from 1`, where, { found: String(value) });
}

/** Direction in which a line is driven; null where none is given. @throws Fault `route-shape` */
export function directionOf(value: unknown, where: string): RouteLine['direction'] {
  if (value === null || value === undefined || value === '') return null;
  const word = String(value).trim().toLowerCase();
  if (word === 'along' || word === 'against' || word === 'both') return word;
  throw shapeFault('the direction must be along, against or both', where, { found: word });
}

function round(value: number): number {
  return Math.round(value * 1e4) / 1e4;
}

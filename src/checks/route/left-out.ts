import { type Route, stationingOf } from '../../delivery/route.js';
import { Fault } from '../../fault.js';
import { distancesOfStation, parseStation } from '../../geometry/stationing.js';

/** A stretch of a line by its stations, as a requirement writes it. */
export interface StationStretchOption {
  line: string;
  from: string;
  to: string;
}

/**
 * Stretches of the route by stations, as metres from the begin of their line.
 * @throws Fault `route-station` for a line or a station that does not exist, and for a station that exists more than once
 */
export function leftOutStretches(
  options: readonly StationStretchOption[] | undefined,
  route: Route | null,
): { line: number; from: number; to: number }[] {
  if (!route || !options) return [];
  return options.map(({ line: name, from, to }) => {
    const line = route.lines.findIndex((one) => one.name === name);
    if (line < 0) {
      const found = route.lines.map((one) => one.name).join(', ');
      throw new Fault({
        code: 'route-station',
        what: `the route has no line called ${name}`,
        where: 'leaveOut',
        found,
      });
    }
    const [a, b] = [distanceOf(route, line, from), distanceOf(route, line, to)];
    return { line, from: Math.min(a, b), to: Math.max(a, b) };
  });
}

function distanceOf(route: Route, line: number, text: string): number {
  const where = `leaveOut, line ${route.lines[line].name}`;
  const written = parseStation(text, route);
  if (!written)
    throw new Fault({
      code: 'route-station',
      what: 'this is not a station',
      where,
      found: text,
      expected: route.notation,
    });
  const found = distancesOfStation(stationingOf(route.lines[line]), written, route);
  if (found.length === 1) return found[0];
  throw new Fault({
    code: 'route-station',
    what: found.length === 0 ? 'the line has no such station' : `the station occurs ${found.length} times on the line`,
    where,
    found: text,
    advice:
      found.length === 0
        ? 'Give a station between the begin and the end of the line'
        : `It is ${found.map((metres) => `${metres.toFixed(1)} m`).join(' and ')} from the begin: cut the line in two at the station equation and name the part`,
  });
}

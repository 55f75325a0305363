import type { Route } from '../../delivery/route.js';
import type { SurveyPoint } from '../../delivery/survey-points.js';
import { LineIndex, pointAt } from '../../geometry/nearest-on-line.js';

/** A survey point at the route: the line that is nearest to it, and metres from the begin of the line. */
export interface PlacedPoint {
  point: SurveyPoint;
  line: number;
  distance: number;
}

/** A stretch of a line between two points, or between an end of the line and the nearest point. */
export interface SpacingGap {
  line: number;
  /** Name of the line. */
  name: string;
  /** Metres from the begin of the line. */
  from: number;
  to: number;
  metres: number;
  /** World coordinates of its middle, metres. */
  x: number;
  y: number;
}

/** The survey points within a distance of the route, in the order of the route. */
export function pointsOnRoute(route: Route, points: readonly SurveyPoint[], width: number): PlacedPoint[] {
  const indexes = route.lines.map((line) => new LineIndex(line));
  const placed = points.flatMap((point): PlacedPoint[] => {
    let best: PlacedPoint | null = null;
    let within = width;
    indexes.forEach((index, line) => {
      const found = index.nearest(point.x, point.y, within);
      if (!found || (best !== null && found.gap >= within)) return;
      within = found.gap;
      best = { point, line, distance: found.distance };
    });
    return best === null ? [] : [best];
  });
  return placed.sort((a, b) => a.line - b.line || a.distance - b.distance);
}

/** The stretches of every line without a point, the longest first; a line without points is one stretch. */
export function gapsOf(route: Route, points: readonly PlacedPoint[]): SpacingGap[] {
  const gaps = route.lines.flatMap((line, number) => {
    const length = line.distance[line.distance.length - 1];
    const places = points.filter((one) => one.line === number).map(({ distance }) => distance);
    const borders = [0, ...places, length];
    return borders.slice(1).map((to, i): SpacingGap => {
      const from = borders[i];
      const { x, y } = pointAt(line, (from + to) / 2);
      return { line: number, name: line.name, from, to, metres: to - from, x, y };
    });
  });
  return gaps.sort((a, b) => b.metres - a.metres || a.line - b.line || a.from - b.from);
}

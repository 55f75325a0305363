import type { PlacementFacts } from './rule.js';

type Box = PlacementFacts['cloud'];

/** Room about the cloud in which a point still belongs to it, metres. */
const ROOM = 100;

/** Whether two boxes in plan meet, with a little room between them. */
export function boxesMeet(a: Box, b: Box): boolean {
  return a[0] <= b[2] + ROOM && b[0] <= a[2] + ROOM && a[1] <= b[3] + ROOM && b[1] <= a[3] + ROOM;
}

export function scaled([x0, y0, x1, y1]: Box, by: number): Box {
  return [x0 * by, y0 * by, x1 * by, y1 * by];
}

/** Distance between the middles, metres. */
export function distanceOf({ surveyed, cloud }: PlacementFacts): number {
  return Math.hypot(
    (surveyed[0] + surveyed[2] - cloud[0] - cloud[2]) / 2,
    (surveyed[1] + surveyed[3] - cloud[1] - cloud[3]) / 2,
  );
}

/** The distance in words. */
export function apart(facts: PlacementFacts): string {
  const metres = distanceOf(facts);
  return metres < 1000 ? `${Math.round(metres)} m` : `${(metres / 1000).toFixed(1)} km`;
}

import type { DeliveredFile } from '../delivery/delivery.js';
import type { RouteLine } from '../delivery/route.js';
import { Fault } from '../fault.js';
import { LineIndex } from '../geometry/nearest-on-line.js';

/** A route whose nearest line is farther away than this is one of another place, or in another unit, metres. */
const FARTHEST = 1000;

/** Extent of a cloud, metres. */
type Box = readonly [west: number, south: number, east: number, north: number];

/**
 * Refuses a route of which no line is near a cloud, with the distance. Names the cause where the coordinates fit with easting and
 * northing swapped, or in feet.
 * @returns a note for every line that is far away while others are near
 * @throws Fault `route-far`
 */
export function refuseFarRoute(lines: readonly RouteLine[], files: readonly DeliveredFile[], where: string): string[] {
  const boxes = files.flatMap(boxOf);
  if (boxes.length === 0) return [];
  const away = lines.map((line) => distanceTo(boxes, line));
  const nearest = away.reduce((a, b) => Math.min(a, b));
  if (nearest > FARTHEST) throw farFault(lines, boxes, nearest, where);
  return lines.flatMap(({ name }, i) =>
    away[i] > FARTHEST ? [`Line ${name} of the route is about ${kilometres(away[i])} from the nearest cloud.`] : [],
  );
}

function boxOf({ header, horizontalUnit }: DeliveredFile): Box[] {
  if (!header || header.pointCount === 0) return [];
  const box = [header.min[0], header.min[1], header.max[0], header.max[1]].map((v) => v * horizontalUnit);
  return box.every(Number.isFinite) ? [box as unknown as Box] : [];
}

/** Smallest distance from a line to a box, metres, not overstated by more than half a diagonal of the box. */
function distanceTo(boxes: readonly Box[], { x, y, distance }: Pick<RouteLine, 'x' | 'y' | 'distance'>): number {
  const index = new LineIndex({ x, y, distance });
  let nearest = Infinity;
  for (const [west, south, east, north] of boxes) {
    const found = index.nearest((west + east) / 2, (south + north) / 2);
    if (found) nearest = Math.min(nearest, Math.max(0, found.gap - Math.hypot(east - west, north - south) / 2));
  }
  return nearest;
}

function farFault(lines: readonly RouteLine[], boxes: readonly Box[], nearest: number, where: string): Fault {
  const near = (change: (line: RouteLine) => Pick<RouteLine, 'x' | 'y' | 'distance'>) =>
    lines.some((line) => distanceTo(boxes, change(line)) <= FARTHEST);
  const scaled = (factor: number) => (line: RouteLine) => ({
    ...line,
    x: line.x.map((v) => v * factor),
    y: line.y.map((v) => v * factor),
  });
  const cause = near((line) => ({ ...line, x: line.y, y: line.x }))
    ? 'Easting and northing look swapped: correct their order in the file'
    : near(scaled(0.3048)) || near(scaled(1200 / 3937))
      ? 'The coordinates look like feet: state the unit in the file, or convert them to the unit of the cloud'
      : near(scaled(1 / 0.3048)) || near(scaled(3937 / 1200))
        ? 'The coordinates look like metres beside a cloud in feet: convert them to the unit of the cloud'
        : 'Give the route of this delivery, in the coordinate system of the cloud';
  return new Fault({
    code: 'route-far',
    what: `the route is about ${kilometres(nearest)} from the nearest cloud`,
    where,
    advice: cause,
  });
}

function kilometres(metres: number): string {
  return `${(metres / 1000).toFixed(1)} km`;
}

import { type Bounds, type Polygon, pointInPolygon } from './polygon.js';

/** Whether a polygon and an upright rectangle share some area; not when they only border on each other. */
export function polygonMeetsBox(polygon: Polygon, box: Bounds): boolean {
  for (const ring of [polygon.outer, ...polygon.holes]) {
    for (let i = 0; i + 3 < ring.length; i += 2) {
      if (segmentEntersBox(ring[i], ring[i + 1], ring[i + 2], ring[i + 3], box)) return true;
    }
  }
  // No edge comes in: the rectangle is wholly inside or wholly outside.
  return pointInPolygon((box.minX + box.maxX) / 2, (box.minY + box.maxY) / 2, polygon);
}

/** Whether some part of the segment lies inside the open rectangle (clipped to one side after the other, Liang and Barsky 1984). */
function segmentEntersBox(x0: number, y0: number, x1: number, y1: number, box: Bounds): boolean {
  let from = 0;
  let to = 1;
  for (const [start, step, low, high] of [
    [x0, x1 - x0, box.minX, box.maxX],
    [y0, y1 - y0, box.minY, box.maxY],
  ]) {
    if (step === 0) {
      if (start <= low || start >= high) return false;
      continue;
    }
    const ends = [(low - start) / step, (high - start) / step];
    from = Math.max(from, Math.min(...ends));
    to = Math.min(to, Math.max(...ends));
  }
  return from < to;
}

/** A polygon: an outer ring and holes, each flat x, y, x, y ... The first vertex may be repeated at the end. */
export interface Polygon {
  outer: Float64Array;
  holes: Float64Array[];
}

/** An axis-parallel rectangle. */
export interface Bounds {
  minX: number;
  minY: number;
  maxX: number;
  maxY: number;
}

/**
 * Whether a point lies in a ring (even-odd rule, half-open): of two rings that share an edge exactly one holds a point on
 * it. A point on a left or lower edge of an upright rectangle is in, on a right or upper edge out.
 */
export function pointInRing(x: number, y: number, ring: Float64Array): boolean {
  let inside = false;
  const n = ring.length;
  let px = ring[n - 2];
  let py = ring[n - 1];
  for (let i = 0; i < n; i += 2) {
    const qx = ring[i];
    const qy = ring[i + 1];
    if (py > y !== qy > y) {
      // Always from the lower to the upper end, so that a shared edge rounds alike in both rings.
      const at = py < qy ? px + ((y - py) * (qx - px)) / (qy - py) : qx + ((y - qy) * (px - qx)) / (py - qy);
      if (x < at) inside = !inside;
    }
    px = qx;
    py = qy;
  }
  return inside;
}

/** Whether a point lies in the outer ring and in no hole. */
export function pointInPolygon(x: number, y: number, polygon: Polygon): boolean {
  if (!pointInRing(x, y, polygon.outer)) return false;
  for (const hole of polygon.holes) if (pointInRing(x, y, hole)) return false;
  return true;
}

/** Whether a point lies in any of the polygons. For many points `PolygonIndex` gives the same answer sooner. */
export function pointInPolygons(x: number, y: number, polygons: readonly Polygon[]): boolean {
  for (const polygon of polygons) if (pointInPolygon(x, y, polygon)) return true;
  return false;
}

/** Signed area of a ring, positive when it is anticlockwise; computed relative to its first vertex to avoid cancellation. */
export function ringArea(ring: Float64Array): number {
  let twice = 0;
  for (let i = 2; i + 3 < ring.length; i += 2) {
    const ax = ring[i] - ring[0];
    const ay = ring[i + 1] - ring[1];
    twice += ax * (ring[i + 3] - ring[1]) - ay * (ring[i + 2] - ring[0]);
  }
  return twice / 2;
}

/** Area of the outer ring less its holes, whichever way they run; holes must lie inside and not overlap. */
export function polygonArea(polygon: Polygon): number {
  let area = Math.abs(ringArea(polygon.outer));
  for (const hole of polygon.holes) area -= Math.abs(ringArea(hole));
  return area;
}

/** Smallest upright rectangle round the polygons; `null` when they have no vertex. */
export function polygonBounds(polygons: readonly Polygon[]): Bounds | null {
  const bounds: Bounds = {
    minX: Number.POSITIVE_INFINITY,
    minY: Number.POSITIVE_INFINITY,
    maxX: Number.NEGATIVE_INFINITY,
    maxY: Number.NEGATIVE_INFINITY,
  };
  for (const { outer } of polygons) {
    for (let i = 0; i + 1 < outer.length; i += 2) {
      bounds.minX = Math.min(bounds.minX, outer[i]);
      bounds.maxX = Math.max(bounds.maxX, outer[i]);
      bounds.minY = Math.min(bounds.minY, outer[i + 1]);
      bounds.maxY = Math.max(bounds.maxY, outer[i + 1]);
    }
  }
  return bounds.minX <= bounds.maxX ? bounds : null;
}

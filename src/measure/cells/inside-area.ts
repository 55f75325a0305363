import { pointInPolygons } from '../../geometry/polygon.js';
import type { MaskArea } from './zone-mask.js';

/** A function that is true for locations (world metres) inside the polygons of the area; always true where `area` is null. */
export function insideArea(area: MaskArea | null): (x: number, y: number) => boolean {
  if (area === null) return () => true;
  const polygons = area.polygons.map(({ outer, holes }) => ({
    outer: Float64Array.from(outer),
    holes: holes.map((hole) => Float64Array.from(hole)),
  }));
  return (x, y) => pointInPolygons(x, y, polygons);
}

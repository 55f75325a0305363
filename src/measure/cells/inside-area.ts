import { PolygonIndex } from '../../geometry/polygon-index.js';
import type { MaskArea } from './zone-mask.js';

const known = new WeakMap<MaskArea, PolygonIndex>();

/** A function that is true for locations (world metres) inside the polygons of the area; always true where `area` is null. */
export function insideArea(area: MaskArea | null): (x: number, y: number) => boolean {
  if (area === null) return () => true;
  const index =
    known.get(area) ??
    new PolygonIndex(
      area.polygons.map(({ outer, holes }) => ({
        outer: Float64Array.from(outer),
        holes: holes.map((hole) => Float64Array.from(hole)),
      })),
    );
  known.set(area, index);
  return (x, y) => index.holds(x, y);
}

import { Fault } from '../../fault.js';
import { type Polygon, polygonArea, polygonBounds } from '../../geometry/polygon.js';
import { type PolygonRaster, rasterisePolygons } from '../../geometry/polygon-raster.js';

/** Cells of a zone that are judged at the most: some 16 bytes each, so that a zone drawn wrong cannot take all memory. */
const MOST_CELLS = 25_000_000;
/** Rows from the lowest to the highest cell, each with a list of its own. */
const MOST_ROWS = 2_000_000;

/**
 * The cells of a zone.
 * @throws Fault `zone-too-large`: the requirement that asked is then undetermined, for that reason
 */
export function zoneRaster(name: string, polygons: readonly Polygon[], cellMetres: number): PolygonRaster {
  const cells = polygons.reduce((sum, polygon) => sum + polygonArea(polygon), 0) / cellMetres ** 2;
  const bounds = polygonBounds(polygons);
  const rows = bounds === null ? 0 : (bounds.maxY - bounds.minY) / cellMetres;
  if (cells <= MOST_CELLS && rows <= MOST_ROWS) return rasterisePolygons(polygons, cellMetres);
  throw new Fault({
    code: 'zone-too-large',
    where: `zone ${name}`,
    what: `the zone is too large to be judged in cells of ${cellMetres} m`,
    found: `${count(cells)} cells in ${count(rows)} rows`,
    expected: `at most ${count(MOST_CELLS)} cells in ${count(MOST_ROWS)} rows`,
    advice: 'Ask for larger cells in the spec, or correct the zone',
  });
}

function count(value: number): string {
  return Math.round(value).toLocaleString('en-GB');
}

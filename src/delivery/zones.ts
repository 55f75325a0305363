/** A named area: one or more polygons, each an outer ring and holes; closed rings as flat x, y, x, y ... in metres. */
export interface Zone {
  name: string;
  polygons: { outer: Float64Array; holes: Float64Array[] }[];
}

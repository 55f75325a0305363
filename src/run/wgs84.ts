import proj4 from 'proj4';

/**
 * From plan coordinates in a system the library can compute (here: the UTM zones on WGS 84 and ETRS89, by EPSG code) to
 * longitude and latitude on WGS 84; null for any other: then GeoJSON keeps the cloud's own coordinates and says so.
 */
export function transformToWgs84(code: string | null): ((x: number, y: number) => [number, number]) | null {
  const definition = definitionOf(code);
  if (definition === null) return null;
  const transform = proj4(definition, 'WGS84');
  return (x, y) => {
    const [longitude, latitude] = transform.forward([x, y]);
    return [longitude, latitude];
  };
}

/** EPSG 326zz and 327zz: WGS 84 UTM north and south; 258zz: ETRS89 UTM north, zones 28 to 38. */
function definitionOf(code: string | null): string | null {
  const epsg = Number(/^EPSG:(\d+)$/.exec(code ?? '')?.[1] ?? Number.NaN);
  const zone = epsg % 100;
  const family = Math.floor(epsg / 100);
  if (zone < 1 || zone > 60) return null;
  if (family === 326) return `+proj=utm +zone=${zone} +datum=WGS84 +units=m +no_defs`;
  if (family === 327) return `+proj=utm +zone=${zone} +south +datum=WGS84 +units=m +no_defs`;
  if (family === 258 && zone >= 28 && zone <= 38)
    return `+proj=utm +zone=${zone} +ellps=GRS80 +towgs84=0,0,0 +units=m +no_defs`;
  return null;
}

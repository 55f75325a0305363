/**
 * The coordinate system that a survey points file states itself: the `crs` member of GeoJSON (2008 edition, a name such as
 * "urn:ogc:def:crs:EPSG::25832"), or a comment line `# crs: EPSG:25832` of a CSV. Null when it states none, or something
 * else than an EPSG code, WKT or a PROJ string.
 */
export function statedCrs(text: string): string | null {
  const body = text.replace(/^\ufeff/, '');
  return /^\s*[{[]/.test(body) ? crsOfGeoJson(body) : crsOfCsv(body);
}

function crsOfCsv(text: string): string | null {
  const value = /^[^\S\n]*#[^\S\n]*crs[^\S\n]*[:=](.*)$/im.exec(text)?.[1].trim();
  return value === undefined ? null : definitionOf(value);
}

function crsOfGeoJson(text: string): string | null {
  let root: unknown;
  try {
    root = JSON.parse(text);
  } catch {
    // The reader of the points reports the error with line and column.
    return null;
  }
  const crs = (root as { crs?: { properties?: { name?: unknown } } } | null)?.crs;
  const name = crs?.properties?.name;
  return typeof name === 'string' ? definitionOf(name) : null;
}

/** One spelling for URN and plain EPSG codes; WKT and PROJ strings are returned unchanged; null for other texts. */
export function definitionOf(value: string): string | null {
  const code = /^(?:urn:(?:ogc|x-ogc):def:crs:)?EPSG:(?:[^:]*:)?(\d+(?:\+\d+)?)$/i.exec(value);
  if (code) return `EPSG:${code[1]}`;
  return /^(\+proj=|[A-Za-z_]+\s*[[(])/.test(value) ? value : null;
}
